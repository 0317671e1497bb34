"""The paper of a growers' group: one sheet for all, and one for each farm that says where it stands beside them."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import polars as pl

from analytics.answer import marks, wording
from analytics.files.new_files import write_new
from analytics.pool import group_words
from analytics.pool.group_files import GroupRows
from analytics.pool.group_review import GroupMeasure
from analytics.sheet.content import PrintedSheet
from analytics.sheet.drawn_rows import PictureRow
from analytics.sheet.numbers import Tables
from analytics.sheet.parts import Page, Picture, Section
from analytics.sheet.picture import answer_row, picture_of
from analytics.sheet.printed_tables import PrintedTable
from analytics.sheet.written import FORMATS, checked_ending
from analytics.statistics.results import Question
from analytics.trade.cautions import GROUPS_ARE_NOT_ADVICE
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import count, number

TITLE = "Canola cut standing or windrowed: what a growers' group recorded"
FOR_THE_GROUP, FOR_A_FARM = "growers' group", "farm in a growers' group"
MOST_FARMS = 24  # in the picture; the workbook has them all
CAPTION = (
    "Top: thick bar, these records; thin bars, years to come. Each farm: grey dot, its own mean; upright stroke, that "
    "drawn towards the group as far as its records are few. Grey band: too small to matter."
)
USUAL_WORDS = f"{GROUPS_ARE_NOT_ADVICE} Labels, local rules and contracts come first."
MAIN = "yield"


def group_sheet(
    group: GroupRows, found: Mapping[str, GroupMeasure], made_on: date, *, farm: str | None = None
) -> PrintedSheet:
    """The sheet of the whole group, or of one farm by its code; the same group and date give the same sheet."""
    main = found.get(MAIN) or next(iter(found.values()))
    answer = (group_words.these_records(main), group_words.these_farms(main), group_words.another_farm(main))
    own = group_words.own_farm(main, farm)
    return PrintedSheet(
        title=TITLE,
        farm_name=f"A growers' group of {count(len(group.farms), 'farm')}" if farm is None else f"Farm {farm}",
        made_on=made_on,
        reader=FOR_THE_GROUP if farm is None else FOR_A_FARM,
        answer=(own, *answer) if own else answer,
        pages=(_page(group, found, main, farm),),
        usual_words=USUAL_WORDS,
        tables=_tables(found),
    )


def write_group_sheets(
    group: GroupRows, found: Mapping[str, GroupMeasure], made_on: date, folder: Path, *, ending: str
) -> tuple[Path, ...]:
    """One file of the group and one of each farm, named by its code, in a folder; the files.

    ending : pdf, html or xlsx. Raises BadInput for another, and where a file is there already; Refused where the
    folder cannot be written to.
    """
    make = FORMATS[checked_ending(Path(f"group.{ending}"))]
    sheets = {"group": group_sheet(group, found, made_on)}
    sheets |= {farm: group_sheet(group, found, made_on, farm=farm) for farm in group.farms}
    return write_new(folder, {f"{name}.{ending.lower()}": make(sheet) for name, sheet in sheets.items()})


def _page(group: GroupRows, found: Mapping[str, GroupMeasure], main: GroupMeasure, farm: str | None) -> Page:
    unit = main.comparison.unit
    cautions = group_words.group_cautions(main)
    return Page(
        top=(
            Section(
                heading=f"Which farms agree: {group_words.heading(main.comparison.measure, main)}",
                picture=_picture(main, farm),
            ),
            Section(heading="Every measure, standing less windrowed", table=_measures(found), lines=_own(found, farm)),
        ),
        left=(Section(heading=f"What carries it, {unit}", table=_carries(main), lines=(group_words.agree(main),)),),
        right=(
            Section(heading=f"By crop year, {unit}", table=_years(main)),
            Section(
                heading="Does it depend on something?",
                lines=(group_words.ASKED,),
                bullets=tuple(group_words.depends_line(main, line) for line in main.depends_on),
            ),
        ),
        bottom=(
            *((Section(heading="Cautions", bullets=cautions),) if cautions else ()),
            Section(
                heading="Where the numbers come from",
                lines=(
                    f"{group_words.of_whom(group)} Farms go by codes drawn by lot. These records: "
                    f"{main.comparison.these_fields.method}; years to come: {main.answers.another_farm.method}.",
                ),
            ),
        ),
    )


def _own(found: Mapping[str, GroupMeasure], farm: str | None) -> tuple[str, ...]:
    """Where a farm stands in the measures that are not the main one."""
    told = ((MEASURES[name].label, group_words.own_farm(one, farm)) for name, one in found.items() if name != MAIN)
    return tuple(f"{label}: {said}" for label, said in told if said)


def _picture(one: GroupMeasure, farm: str | None) -> Picture:
    comparison, answers = one.comparison, one.answers
    above = [answer_row(comparison, "these records", comparison.these_fields, Question.THESE_FIELDS)]
    for label, answer in (("these farms, later", answers.these_farms), ("another farm", answers.another_farm)):
        if answer.low is not None:
            above.append(answer_row(comparison, label, answer, Question.YEARS_TO_COME))
    farms = sorted(answers.farms, key=lambda row: row.shrunken, reverse=True)
    shown = farms if len(farms) <= MOST_FARMS else [*farms[: MOST_FARMS // 2], *farms[-MOST_FARMS // 2 :]]
    below = [
        PictureRow(
            label=f"{row.name}{' (you)' if row.name == farm else ''}, n {row.field_years}",
            value=f"{marks.difference(comparison, row.raw)}; drawn {marks.difference(comparison, row.shrunken)}",
            low=min(row.raw, row.shrunken),
            estimate=row.shrunken,
            high=max(row.raw, row.shrunken),
            thickness=0.8,
            dots=(row.raw,),
        )
        for row in shown
    ]
    told = ". ".join(f"{row.label}: {row.value}" for row in (*above, *below))
    left = f" {len(farms) - len(shown)} farms in the middle are left out." if len(shown) < len(farms) else ""
    return Picture(
        svg=picture_of(comparison, above, below),
        alt=f"Standing less windrowed by farm. {told}.",
        caption=f"{CAPTION}{left}",
    )


def _measures(found: Mapping[str, GroupMeasure]) -> PrintedTable:
    rows = []
    for name, one in found.items():
        answers = (one.comparison.these_fields, one.answers.these_farms, one.answers.another_farm)
        told = [
            f"{wording.estimate_with_range(one.comparison, answer)}, {marks.finding_words(one.comparison, answer)}"
            for answer in answers
        ]
        rows.append(
            (group_words.heading(name, one), *told, number(one.farms, 0), number(one.comparison.field_years, 0))
        )
    columns = ("", "these records", "these farms, years to come", "another farm, years to come", "farms", "field-years")
    return PrintedTable(columns=columns, rows=tuple(rows), text_columns=4)


def _carries(one: GroupMeasure) -> PrintedTable:
    rows = tuple(group_words.carried_cells(one, row) for row in one.carries)
    return PrintedTable(columns=("", "farms", "field-years", "these records", "another farm"), rows=rows)


def _years(one: GroupMeasure) -> PrintedTable:
    rows = [
        (str(year.crop_year), number(year.field_years, 0), wording.year_with_range(one.comparison, year))
        for year in one.comparison.by_year
    ]
    if one.hidden_years:
        rows.append((count(one.hidden_years, "year"), "", group_words.NOT_SHOWN))
    return PrintedTable(columns=("crop year", "field-years", "difference"), rows=tuple(rows))


def _tables(found: Mapping[str, GroupMeasure]) -> Tables:
    """The numbers behind the sheet; what may not be shown is blank there too."""
    farms, years, carried, asked = [], [], [], []
    answers = []
    for name, one in found.items():
        head = {"measure": MEASURES[name].label, "unit": one.comparison.unit}
        for question, answer in (
            ("these records", one.comparison.these_fields),
            ("these farms, years to come", one.answers.these_farms),
            ("another farm, years to come", one.answers.another_farm),
        ):
            told = {key: getattr(answer, key) for key in ("estimate", "low", "high", "std_error", "df", "p_value")}
            finding = marks.finding_words(one.comparison, answer)
            counts = {"farms": one.farms, "field_years": answer.field_years, "years": answer.years}
            answers.append(
                {**head, "question": question, "finding": finding, **told, **counts, "method": answer.method}
            )
        drawn_from = one.answers.model is not None
        farms += [
            {
                **head,
                "farm": str(row.name),
                "field_years": row.field_years,
                "its own mean": row.raw,
                "drawn towards the group": row.shrunken if drawn_from else None,
            }
            for row in one.answers.farms
        ]
        years += [
            {**head, "crop_year": year.crop_year, "field_years": year.field_years, "estimate": year.estimate,
             "low": year.low, "high": year.high}
            for year in one.comparison.by_year
        ]  # fmt: skip
        carried += [dict(zip(("measure", "pairs of", "farms", "field-years", "these records", "another farm"),
                             (head["measure"], *group_words.carried_cells(one, row)), strict=True))
                    for row in one.carries]  # fmt: skip
        asked += [{**head, "asked": group_words.depends_line(one, line)} for line in one.depends_on]
    made = {"answers": answers, "farms": farms, "by year": years, "what carries it": carried, "depends on": asked}
    return {name: pl.DataFrame(rows, infer_schema_length=None) for name, rows in made.items() if rows}
