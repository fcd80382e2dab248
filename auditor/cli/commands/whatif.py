"""`auditor whatif`: recorded months repriced with one change, with the uncertainty of the difference."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import options
from auditor.cli.terminal import say

if TYPE_CHECKING:
    from auditor.audit import Audit
    from auditor.habits.what_if import Scene

Change = Callable[["Audit", "Scene"], "tuple[Scene, Scene]"]


@click.command("whatif", no_args_is_help=True)
@options.paths
@click.option("--cut", nargs=2, metavar="CARTON LENGTH", help="A carton cut to this length.")
@click.option("--weight", nargs=2, metavar="CARTON WEIGHT", help="Another default weight; never below a measured one.")
@click.option("--swap", nargs=2, metavar="CARTON OTHER", help="The parcels of one carton in another of your list.")
@click.option("--other-rules", multiple=True, metavar="[SERVICE=]NAME", help="Another tariff.")
@click.option("--other-prices", multiple=True, type=click.Path(path_type=Path), help="Other rates, fees or fuel.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="All parcels as if shipped on this day.")
@click.option("--flat", is_flag=True, help="What buyers' payments leave, and the flat charge that covers most parcels.")
@click.option("--flat-charge", metavar="AMOUNT", help="The same, and what this flat charge would have left.")
@click.option(
    "--cover", type=click.FloatRange(1, 99), default=90, show_default=True, help="Percent of parcels covered."
)
@click.option("--format", "form", type=click.Choice(["text", "csv"]), default="text", help="csv: the table alone.")
@options.rules
@options.given
@options.readings
def command(
    paths: tuple[Path, ...],
    cover: float,
    form: str,
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
    **asked: Any,
) -> None:
    r"""Reprice the recorded months in PATHS with one change, and show what it would have saved or cost.

    A declared figure below what was measured is refused: a cut carton is really shorter, a lower weight has to be true.
    The options --other-rules, --other-prices and --on may be used together.

    \b
    For example:
      auditor whatif my-months/ --cut "stand tube" 43.5in
      auditor whatif my-months/ --weight "guitar box" "15 lb"
      auditor whatif my-months/ --flat --cover 95
    """
    change = _change(asked)
    charge = _read("money", asked["flat_charge"], "--flat-charge") if asked["flat_charge"] else None
    audit = options.audit_of(paths, rules, given, readings)
    faults = [problem for problem in audit.problems if not problem.note]
    options.say_problems(faults, set(audit.lines["source_file"].dropna()), elsewhere=options.IN_FULL)
    say(*(_answer(audit, change, form) if change else _flat(audit, cover / 100, charge, form)))


def _change(asked: Mapping[str, Any]) -> Change | None:
    """The one change asked for; None for the flat charge."""
    changes: dict[str, Callable[[Mapping[str, Any]], Change | None]] = {
        "cut": _cut,
        "weight": _weight,
        "swap": _swap,
        "other": _otherwise,
        "flat": lambda _: None,
    }
    asked_for = {name.split("_")[0] if name != "on" else "other" for name, value in asked.items() if value}
    if len(asked_for) != 1:
        raise click.UsageError(
            "Ask for one change at a time: --cut, --weight, --swap, --flat (or --flat-charge), or any of "
            "--other-rules, --other-prices and --on."
        )
    return changes[asked_for.pop()](asked)


def _cut(asked: Mapping[str, Any]) -> Change:
    carton, text = asked["cut"]
    length = _read("side", text, "--cut")

    def change(_: Audit, scene: Scene) -> tuple[Scene, Scene]:
        from auditor.habits.what_if import cut

        return cut(scene, carton, length)

    return change


def _weight(asked: Mapping[str, Any]) -> Change:
    carton, text = asked["weight"]
    weight = _read("heft", text, "--weight")

    def change(audit: Audit, scene: Scene) -> tuple[Scene, Scene]:
        from auditor.habits.what_if import default_weight, measured_weights

        return default_weight(scene, carton, weight, measured_weights(audit.shipments, audit.readings))

    return change


def _swap(asked: Mapping[str, Any]) -> Change:
    carton, other = asked["swap"]

    def change(audit: Audit, scene: Scene) -> tuple[Scene, Scene]:
        from auditor.habits.what_if import other_carton

        return other_carton(scene, carton, other, audit.cartons, audit.shipments)

    return change


def _otherwise(asked: Mapping[str, Any]) -> Change:
    def change(audit: Audit, scene: Scene) -> tuple[Scene, Scene]:
        import pandas as pd

        from auditor.habits.what_if import priced_otherwise

        book = options.rulebook_of(asked["other_rules"]) if asked["other_rules"] else audit.rulebook
        prices = options.prices_of(asked["other_prices"], audit) if asked["other_prices"] else audit.prices
        return priced_otherwise(scene, book, prices, pd.Timestamp(asked["on"]) if asked["on"] else None)

    return change


def _read(name: str, text: str, option: str) -> int:
    """A text read by one of the functions of intake.parsing; what is wrong with it is said, and exits with 2."""
    from auditor.intake import parsing

    try:
        return int(getattr(parsing, name)(text))
    except ValueError as reason:
        raise click.BadParameter(f"{text!r} {reason}.", param_hint=option) from None


def _answer(audit: Audit, change: Change, form: str) -> list[str]:
    from auditor.core.schemas import WHAT_IF
    from auditor.habits.what_if import RefusedError, as_recorded, compared
    from auditor.report.csv_files import csv_text
    from auditor.report.lines.whatif import lines_of

    try:
        scene = as_recorded(audit.shipments, audit.lines, options.history_of(audit), audit.rulebook, audit.prices)
        before, after = change(audit, scene)
        table = compared(before, after)
    except RefusedError as error:
        raise click.UsageError(str(error)) from error
    return list(lines_of(table, before, after)) if form == "text" else csv_text(table, WHAT_IF).split("\n")[:-1]


def _flat(audit: Audit, share: float, charge: int | None, form: str) -> list[str]:
    from auditor.core.schemas import LEFT_OVER
    from auditor.habits.flat_charge import flat_charges, left_over, parcel_costs, sentences, with_charge
    from auditor.report.csv_files import csv_text
    from auditor.report.lines.whatif import flat_table

    costs = parcel_costs(audit.shipments, audit.lines, audit.cartons)
    left = left_over(costs)
    if form == "csv":
        return csv_text(left, LEFT_OVER).split("\n")[:-1]
    answer = [] if charge is None else [with_charge(costs, charge)]
    return [*flat_table(left), "", *answer, *sentences(left, flat_charges(costs, share))]
