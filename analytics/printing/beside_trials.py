"""Published trials in the terminal: what others found, the farm's own and both together, each under whose it is."""

from collections.abc import Sequence

from rich.console import Console

from analytics.answer import beside_published
from analytics.answer.beside_published import Beside, Line
from analytics.printing.listed import plain_table, print_list


def print_beside_trials(console: Console, others: Beside) -> None:
    """Tables in one unit, the joint answer in sentences, then where each result is from."""
    _whose(console, f"{beside_published.HEADING} {others.unit}, standing minus windrowed", others.differences)
    print_list(console, "Beside them", (said for said in (others.unlike, *others.joint_words) if said))
    if others.each_way:
        _whose(console, f"{beside_published.EACH_WAY_HEADING} {others.unit}", others.each_way)
    if others.early:
        _whose(console, f"{beside_published.EARLY_HEADING} {others.unit}", others.early)
        console.print(beside_published.EARLY_WORDS, markup=False, soft_wrap=True)
    print_list(console, "Each published result", beside_published.results_words(others.trials))
    print_list(console, beside_published.APART.rstrip("."), beside_published.results_words(others.surveys))
    console.print(beside_published.NO_FINDING, markup=False, soft_wrap=True)


def _whose(console: Console, title: str, lines: Sequence[Line]) -> None:
    """Lines as a table; whose they are is told once for each group."""
    table = plain_table(title)
    table.add_column("whose")
    table.add_column("what")
    table.add_column("how much", justify="right")
    before = ""
    for line in lines:
        about = f"{line.about}: " if line.about else ""
        table.add_row("" if line.whose == before else line.whose, f"{about}{line.words}", line.size)
        before = line.whose
    console.print(table)
