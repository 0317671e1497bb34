"""Pictures of money and of next season's strips: blue where standing gains, vermilion where it loses, and words too."""

from collections.abc import Sequence

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, FAINT, INK, STANDING, UNDECIDED, WINDROWED
from analytics.answer.money_review import Outlook
from analytics.answer.money_wording import dollars, line_words, range_words
from analytics.planning.drawing_lots import Piece
from analytics.trade.budget import EVEN_MONEY, Change, Swing
from analytics.trade.numbers_as_text import capital
from analytics.trade.units import per_bu_ac
from dashboard.pictures.one_picture import one_picture
from dashboard.pictures.rows import AXIS, LINE, ONCE

STEPS = 24  # of the heat picture, each way
LEAST_REACH = 4.0  # bu/ac that the heat picture shows to either side at least
ROW = 30
TWO_LINE_ROW = 46
COLOURS = {"standing": STANDING, "windrowed": WINDROWED, "": FAINT}


def budget_lines(changes: Sequence[Change], *, net_ac: float) -> alt.LayerChart:
    """What each line of the partial budget gains or loses for standing, a bar from 0 each, and the sum, $/ac."""
    gains = [(change, change.dollars_ac if change.kind == "revenue" else -change.dollars_ac) for change in changes]
    rows = [(capital(line_words(change)), gain) for change, gain in gains if abs(gain) >= EVEN_MONEY]
    rows.append(("Standing less windrowed", net_ac))
    frame = pl.DataFrame(
        [
            (
                name,
                gain,
                STANDING if gain > 0 else WINDROWED,
                _signed(gain),
                max(gain, 0.0),
            )
            for name, gain in rows
        ],
        schema=["line", "gain", "colour", "text", "right"],
        orient="row",
    )
    gains_ac = [gain for _, gain in rows]
    low, high = min(0.0, *gains_ac), max(0.0, *gains_ac)
    scale = alt.Scale(domain=[low - 0.05 * (high - low), high + 0.3 * (high - low)], nice=False)
    y = alt.Y("line:N", sort=None, title=None, axis=alt.Axis(labelLimit=190, ticks=False, domain=False))
    axis = alt.Axis(title=["what standing gains (+)", "or loses (−), $ an acre"], tickCount=4, gridColor=BAND)
    bars = (
        alt.Chart(frame)
        .mark_bar(height=15)
        .encode(y=y, x=alt.X("gain:Q", scale=scale, axis=axis), color=alt.Color("colour:N", scale=None))
    )
    labels = (
        alt.Chart(frame)
        .mark_text(align="left", dx=4, color=INK, fontSize=12)
        .encode(y=y, x=alt.X("right:Q", scale=scale), text=alt.Text("text:N"))
    )
    zero = alt.Chart(ONCE).mark_rule(color=INK).encode(x=alt.XDatum(0))
    return one_picture([bars, zero, labels], height=ROW * frame.height + AXIS + LINE)


def _signed(gain: float) -> str:
    """Dollars and cents with their sign, as in the boxes below and on the sheet; nothing has none."""
    return f"{'+' if round(gain, 2) > 0 else ''}{dollars(gain, decimals=2)}"


def heat(at: Outlook, *, prices: Sequence[float], unit: str) -> alt.LayerChart:
    """Net difference over price and yield difference; the break-even line, and the farm's own ranges at its price,
    thick on these fields and thin for years to come.

    unit : in which yields are shown
    """
    low_price, high_price = 0.85 * min(prices), 1.15 * max(prices)
    known = (at.yield_difference, at.yield_low, at.yield_high, at.ahead_low, at.ahead_high)
    ends = [abs(end) for end in known if end is not None]
    reach = max(LEAST_REACH, 1.15 * max(ends))
    shown = per_bu_ac(unit)
    price_step, yield_step = (high_price - low_price) / STEPS, 2 * reach / STEPS
    cells = []
    for column in range(STEPS):
        for row in range(STEPS):
            price = low_price + column * price_step
            difference = -reach + row * yield_step
            net = at.net_at(dollars_per_tonne=price + price_step / 2, yield_difference=difference + yield_step / 2)
            low, high = difference * shown, (difference + yield_step) * shown
            cells.append((price, price + price_step, low, high, net, dollars(net)))
    frame = pl.DataFrame(cells, schema=["price", "price2", "yield", "yield2", "net", "text"], orient="row")
    limit = max(abs(net) for *_, net, _ in cells)
    x = alt.X(
        "price:Q",
        scale=alt.Scale(domain=[low_price, high_price], nice=False),
        axis=alt.Axis(title="price, $ a tonne", tickCount=5, grid=False),
    )
    y = alt.Y(
        "yield:Q",
        scale=alt.Scale(domain=[-reach * shown, reach * shown], nice=False),
        axis=alt.Axis(title=f"standing less windrowed, {unit} as sold", grid=False),
    )
    colour = alt.Color(
        "net:Q",
        scale=alt.Scale(domain=[-limit, 0, limit], range=[WINDROWED, "#FFFFFF", STANDING], interpolate="rgb"),
        legend=alt.Legend(title="net difference, $ an acre", orient="top", gradientLength=180, tickCount=3),
    )
    tips = [alt.Tooltip("text:N", title="net difference an acre")]
    ground = (
        alt.Chart(frame)
        .mark_rect()
        .encode(x=x, x2=alt.X2("price2:Q"), y=y, y2=alt.Y2("yield2:Q"), color=colour, tooltip=tips)
    )
    needed = [(price, at.yield_needed(price)) for price in (low_price + i * price_step for i in range(STEPS + 1))]
    line = pl.DataFrame(
        [(price, need * shown) for price, need in needed if need is not None and abs(need) <= reach],
        schema={"price": pl.Float64, "yield": pl.Float64},
        orient="row",
    )
    layers = [ground, alt.Chart(line).mark_line(color=INK, strokeDash=[5, 4], strokeWidth=2).encode(x=x, y=y)]
    for low_end, high_end, width in ((at.ahead_low, at.ahead_high, 1.5), (at.yield_low, at.yield_high, 5)):
        if low_end is not None and high_end is not None:
            span = pl.DataFrame({"price": [at.dollars_per_tonne], "low": [low_end * shown], "high": [high_end * shown]})
            rule = alt.Chart(span).mark_rule(color=INK, strokeWidth=width)
            layers.append(rule.encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")))
    own = pl.DataFrame({"price": [at.dollars_per_tonne], "yield": [at.yield_difference * shown]})
    point = alt.Chart(own).mark_point(color=INK, fill="white", opacity=1, size=90, strokeWidth=2)
    layers.append(point.encode(x=x, y=y))
    return one_picture(layers, height=340)


def what_matters(swings: Sequence[Swing], *, unit: str) -> alt.LayerChart:
    """A bar for each assumption, from the net difference at its low to the one at its high; yields shown in `unit`."""
    frame = pl.DataFrame(
        [
            (
                f"{swing.assumption.label}|{range_words(swing.assumption, unit)}",
                swing.at_low,
                swing.at_high,
                f"{dollars(swing.at_low)} to {dollars(swing.at_high)} an acre; {swing.assumption.basis}",
            )
            for swing in swings
        ],
        schema=["label", "low", "high", "text"],
        orient="row",
    )
    two_lines = alt.Axis(labelExpr="split(datum.label, '|')", labelLimit=230, ticks=False, domain=False)
    y = alt.Y("label:N", sort=None, title=None, axis=two_lines)
    axis = alt.Axis(title="net difference, $ an acre", tickCount=4, gridColor=BAND)
    bars = (
        alt.Chart(frame)
        .mark_bar(height=15, color=UNDECIDED)
        .encode(y=y, x=alt.X("low:Q", axis=axis), x2=alt.X2("high:Q"), tooltip=alt.Tooltip("text:N", title=" "))
    )
    zero = alt.Chart(ONCE).mark_rule(color=INK).encode(x=alt.XDatum(0))
    return one_picture([bars, zero], height=TWO_LINE_ROW * frame.height + AXIS)


def strips_chart(pieces: Sequence[Piece]) -> alt.LayerChart:
    """Each split field as a bar, its halves or strips side by side; a letter says how each is cut."""
    frame = pl.DataFrame(
        [
            (
                piece.field,
                piece.left,
                piece.right,
                (piece.left + piece.right) / 2,
                COLOURS[piece.method],
                piece.method[:1].upper() or "?",
                "white" if piece.method else INK,
                f"{piece.field}, {piece.plot}, pair {piece.pair}: {piece.method or 'not drawn yet'}",
            )
            for piece in pieces
        ],
        schema=["field", "left", "right", "middle", "colour", "letter", "ink", "text"],
        orient="row",
    )
    fields = frame["field"].n_unique()
    y = alt.Y("field:N", sort=None, title=None, axis=alt.Axis(labelLimit=150, ticks=False, domain=False))
    x = alt.X("left:Q", axis=None, scale=alt.Scale(domain=[0, 1]))
    bars = (
        alt.Chart(frame)
        .mark_rect(height=32, stroke="white", strokeWidth=2)
        .encode(
            y=y,
            x=x,
            x2=alt.X2("right:Q"),
            color=alt.Color("colour:N", scale=None),
            tooltip=alt.Tooltip("text:N", title=" "),
        )
    )
    letters = (
        alt.Chart(frame)
        .mark_text(fontSize=13, fontWeight="bold")
        .encode(
            y=y,
            x=alt.X("middle:Q", scale=alt.Scale(domain=[0, 1])),
            text=alt.Text("letter:N"),
            color=alt.Color("ink:N", scale=None),
        )
    )
    return one_picture([bars, letters], height=44 * fields)
