"""Days between a pre-harvest product and the first cut, in words."""

from analytics.trade.numbers_as_text import amount

LABEL_CAUTION = (
    "The label (rate, stage, interval), local rules and the buyer's contract come first; a licensed agronomist or "
    "applicator decides. These records recommend no product."
)


def interval_words(*, days_passed: float | None, label_days: float | None) -> str:
    """Days from the pre-harvest product to the first cut, against the interval typed from the label."""
    if days_passed is None:
        return "The days after the product are unknown: a date is missing."
    passed = f"{amount(days_passed, 'days', 0)} passed between the product and the cut"
    if label_days is None:
        return f"{passed}; the interval on the label was not typed, so it cannot be checked. {LABEL_CAUTION}"
    if days_passed < label_days:
        return (
            f"TOO SHORT: only {passed}, and the label as typed asks for {amount(label_days, 'days', 0)}. "
            f"Ask before delivering. {LABEL_CAUTION}"
        )
    return f"{passed}; the label as typed asks for {amount(label_days, 'days', 0)}. {LABEL_CAUTION}"
