"""Which names of a file stand for others: asked for those that no record has and that are nearly like another."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import streamlit as st

from analytics.files.near_names import OddName, odd_fields, odd_plots
from analytics.storage.database import read_table
from analytics.trade.numbers_as_text import count
from dashboard.after_harvest.column_choices import Chosen
from dashboard.frame import on_file, shown_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What names of the files are taken for: fields by their name, plots by the field and plot that stand there."""

    fields: Mapping[str, str]
    plots: Mapping[tuple[str, str], str]

    @property
    def kept_under(self) -> Hashable:
        """What the names are told apart by."""
        return tuple(self.fields.items()), tuple(self.plots.items())


def choose_names(chosen: Sequence[Chosen], key: str) -> Names:
    """A list for each name that no record has and that may be another one, which then stands in all rows."""
    texts = [one.as_ours() for one in chosen if not one.is_left_out]
    fields_now = on_file.read_records(lambda connection: read_table(connection, "fields")["field"].to_list())
    fields = {odd.given: _choose_name(odd, key) for odd in odd_fields(texts, fields_now)}
    plots = {(odd.field, odd.given): _choose_name(odd, key) for odd in odd_plots(texts, on_file.state().plots, fields)}
    return Names(
        fields={given: name for given, name in fields.items() if name != given},
        plots={given: name for given, name in plots.items() if name != given[1]},
    )


def _choose_name(odd: OddName, key: str) -> str:
    where = f" of {odd.field}" if odd.field else ""
    return str(
        st.selectbox(
            shown_words.plain(
                f"{odd.given}{where}, {count(odd.times, 'row')}, is not on record. Is another one meant?"
            ),
            [odd.given, *odd.meant],
            index=int(odd.is_the_same),
            format_func=lambda name: f"{name}, as it stands" if name == odd.given else name,
            key=f"{key}-{odd.field}-{odd.given}",
        )
    )
