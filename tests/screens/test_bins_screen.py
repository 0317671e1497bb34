"""Is the bin safe to leave? The caution about going in stands first; alarms and the next look stand by each bin."""

from collections.abc import Callable

from streamlit.testing.v1 import AppTest

from analytics.trade import cautions


def test_the_caution_comes_first_in_normal_text_and_no_bin_is_called_safe(
    as_opened: Callable[..., AppTest],
) -> None:
    app = as_opened("bins")
    said = [element.value.replace("\\", "") for element in app.main.markdown]
    assert said[0] == cautions.BINS
    assert said[1] == "Bin 4 wants a look now; 1 bin on record holds grain."
    assert cautions.HEATING in said
    told = "\n".join(said)
    assert "It holds standing only: Ridge sixty, whole." in told
    assert "Last check, 13 November 2025: core 11.6 C, smell musty" in told
    warnings = [warning.value.replace("\\", "") for warning in app.warning]
    rose = "Look now: the core rose by 4.1 C from 30 October 2025 to 13 November 2025 while outside fell by 9.2 C."
    assert rose in warnings
    assert " safe" not in told.replace("not safe", "")
