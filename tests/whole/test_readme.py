"""README says what the program does: its commands, its columns, its printed answer and its arithmetic."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from analytics.cli import app
from analytics.records.tables import TABLES
from analytics.statistics.proportions import clopper_pearson
from analytics.trade.seed_loss import concentration_factor, loss_bu_ac
from analytics.trade.units import net_clean

README = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")


def block(language: str) -> str:
    return re.search(rf"^```{language}\n(.*?)\n```$", README, re.MULTILINE | re.DOTALL)[1]


def test_one_command_ends_in_the_demo_and_one_runs_every_test():
    assert block("sh demo").endswith("standrow demo")
    assert block("sh test").endswith("-m pytest -q")
    assert "\n" not in block("sh demo") + block("sh test")


def test_the_columns_are_those_of_the_rules():
    for table in TABLES.values():
        assert f"| {table.name}.csv | {table.meaning} | {', '.join(table.column_names)} |" in README


def test_every_command_that_is_named_exists():
    commands = {command.name or command.callback.__name__ for command in app.registered_commands}
    assert set(re.findall(r"`standrow (\w+)", README)) <= commands
    assert commands - {"demo"} <= set(re.findall(r"`standrow (\w+)", README))


def test_what_the_demo_prints_is_what_stands_there():
    """In a process of its own, which says nothing beside it."""
    done = subprocess.run(
        [sys.executable, "-m", "analytics.cli", "demo", "--no-serve"], capture_output=True, text=True, check=True
    )
    printed = [line.rstrip() for line in done.stdout.splitlines()]
    assert done.stderr == ""
    assert "on these 8 field-years over 6 years" in done.stdout
    assert [line.rstrip() for line in block("text").splitlines()] == printed[: len(block("text").splitlines())]


def test_the_worked_load():
    """Dockage: Canada Grain Regulations, section 1. The water after it is our choice; SOR/2018-176 goes by delivery."""
    clean = net_clean(20.0, dockage_pct=2.0)
    assert (clean, clean * 0.88 / 0.90) == pytest.approx((19.6, 19.1644), abs=5e-5)
    shrink = (
        20.0 * (12.0 - 10.0) / (100 - 10.0)
    )  # SOR/2018-176: (A - B) x 100 / (100 - B) percent of the delivered weight
    assert clean - shrink == pytest.approx(19.1556, abs=5e-5)


def test_the_worked_pan():
    """Canola Council of Canada, quiz of 2017: 30 ft cut, 5 ft discharge is 6 times; the loss by chain."""
    factor = concentration_factor(cut_width_m=30 * 0.3048, discharge_width_m=5 * 0.3048)
    loss = loss_bu_ac(3.0, area_m2=0.3048**2, concentration_factor=factor)
    assert (factor, loss) == pytest.approx((6.0, 0.96), abs=0.005)


def test_the_worked_crush_count():
    """Exact binomial interval (Clopper and Pearson 1934); 10 in 500."""
    share = clopper_pearson(10, 500, level=0.95)
    assert (100 * share.low, 100 * share.high) == pytest.approx((0.96, 3.65), abs=0.005)
