"""manage.py compare_rules [--shares] [--children N --seed S --json]: rules tried on invented
children.

Needs no database. docs/decisions.md says what came of it. With --shares, which tries how held turns
are shared, it ends with 1 if the rule does not keep to what is asked of it.
"""

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from progression.ladder.file import LadderFileError, parse
from readiness.engine.gates import CleanGate
from readiness.engine.ladder import Ladder
from readiness.engine.trial import invented_children as invented
from readiness.engine.trial import other_rules, share_trial, watch_trial
from readiness.engine.trial import rule_trial as trial

Setting = tuple[invented.Turns, float, float]

CORRELATIONS = (0.0, 0.1, 0.2)
TURNS: tuple[invented.Turns, ...] = (3, 10, invented.VARYING)
DAYS_BETWEEN = (3.5, 7.0)
SETTINGS: list[Setting] = [(t, d, c) for c in CORRELATIONS for t in TURNS for d in DAYS_BETWEEN]
# For the trials that take long.
FEW_SETTINGS: tuple[Setting, ...] = ((3, 7.0, 0.1), (10, 3.5, 0.1))
CHILDREN, SHARES_CHILDREN = 4000, 12_000
LADDER = settings.BASE_DIR / "fixtures" / "ladder.toml"

HEAD = (
    f"{'rule':<20}{'opened':>8}{'<.50':>7}{'<.60':>7}{'<.65':>7}{'<.75':>7}{'median':>8}{'p90':>6}"
)
SHARES_HEAD = (
    f"{'held turns':<25}{'opened':>8}{'<.65':>7}{'<.75':>7}{'median':>8}{'p90':>6}"
    f"{'slow':>6}{'opens: fast':>13}{'all':>6}{'slow':>6}{'p90':>6}"
)
WATCH_HEAD = f"{'rule':<20}{'turns':>8}{'corr.':>7}{'false per 1,000':>17}{'median':>8}{'p90':>6}"


class Command(BaseCommand):
    help = "Compare the ladder's own rules with others, on invented children."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--shares", action="store_true", help="how held turns are shared")
        parser.add_argument("--children", type=int, help="4000 if not given; 12000 with --shares")
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true", help="JSON; the fixed world alone")
        parser.add_argument("--ladder", default=LADDER, help="a ladder file")

    def handle(self, *args: Any, **options: Any) -> None:
        few = SHARES_CHILDREN if options["shares"] else CHILDREN
        children = few if options["children"] is None else options["children"]
        seed = options["seed"]
        if children < 1 or seed < 0:
            raise CommandError("Give at least one child, and a seed of 0 or more.")
        ladder = load_ladder(Path(options["ladder"]))
        gates = own_gates(ladder)
        if options["shares"]:
            self._shares(gates, children, seed, options["json"])
            return
        outcomes = trial.compare(
            invented.FIXED, gates, other_rules.Filter(), SETTINGS, children, seed
        )
        if options["json"]:
            self.stdout.write(json.dumps([asdict(outcome) for outcome in outcomes], indent=1))
            return
        self._intro(gates, children, seed)
        self._tables(outcomes)
        better: list[trial.Outcome] = []
        for world in invented.OWN_WORLDS:
            self._title(f"{world.name}: {world.origin}")
            of_world = trial.compare(world, gates, None, FEW_SETTINGS, children, seed)
            self._tables(of_world)
            better += better_rules(of_world)
        self._title("Light touch counted for the unspotted gate, at a share of its weight")
        for setting in FEW_SETTINGS:
            self._tables(trial.borrowing(gates, setting, children, seed))
        watches = self._watches(ladder, gates, children, seed)
        self._title("Bars, at correlation .1")
        noise = 2 * (0.05 * 0.95 / children) ** 0.5
        self.stdout.write(
            f"With {children} children a share of .05 is known to about ± {noise:.3f}."
        )
        for line in check_limits(outcomes, watches):
            self.stdout.write(line)
        rules = ", ".join(f"{outcome.rule} ({outcome.turns} turns)" for outcome in better)
        self.stdout.write(f"In the other worlds a rule is better on both counts: {rules or 'none'}")

    def _shares(self, gates: trial.OwnGates, children: int, seed: int, as_json: bool) -> None:
        outcomes = share_trial.compare_shares(gates, children, seed)
        limits = share_trial.limits(outcomes)
        if as_json:
            rows = {
                "outcomes": [asdict(each) for each in outcomes],
                "limits": [asdict(each) | {"held": each.held} for each in limits],
            }
            self.stdout.write(json.dumps(rows, indent=1))
        else:
            self._shares_tables(outcomes, seed)
            for each in limits:
                self.stdout.write(limit_line(each))
        missed = [each.name for each in limits if not each.held]
        if missed:
            raise CommandError(f"Not held: {', '.join(missed)}.")

    def _shares_tables(self, outcomes: Sequence[share_trial.ShareOutcome], seed: int) -> None:
        self.stdout.write(
            f"{outcomes[0].children} invented children a policy, seed {seed}; twelve to a spotter, "
            "three held turns for each who is there.\n"
            "median, p90: classes from the first at .85 to the opening; slow: the median of the "
            "slowest quarter\nopens: the class of the opening, at the median, of the fastest "
            "quarter, of all who reach .85,\nof the slowest quarter, and the last one's p90; who "
            f"never opens counts as class {invented.CLASSES}."
        )
        for world, rows in groupby(outcomes, key=lambda each: each.world):
            self._title(world)
            self.stdout.write(SHARES_HEAD)
            for row in rows:
                self.stdout.write(shares_row(row))
        self._title("Asked")

    def _title(self, text: str) -> None:
        self.stdout.write(f"\n== {text} ==")

    def _intro(self, gates: trial.OwnGates, children: int, seed: int) -> None:
        practice, unspotted = gates.practice, gates.unspotted
        self.stdout.write(
            f"{children} invented children, seed {seed}, {invented.CLASSES} classes, each attended "
            f"with chance {invented.ATTENDS}.\n"
            f"practice gate: {practice}\nunspotted gate: {unspotted}\nfading: {gates.decay}\n"
            "count chart: +1 clean, -5 not, opens at 20, first three turns of a class\n"
            "Wilson R of N: 90 % one-sided lower bound of the last N turns at least R\n"
            "SPRT P/Q, A: tells true rates P and Q apart with errors A and .1, begins anew\n"
            "filter R at C: knows the world; sure at C that the rate is at least R now\n"
            "opened: share of the children; <.50 ...: share of those opened, by their true rate "
            "then;\nmedian, p90: classes from the first at .85 to the opening."
        )

    def _tables(self, outcomes: Sequence[trial.Outcome]) -> None:
        for (turns, days_between, correlation), rows in groupby(outcomes, key=setting_of):
            self.stdout.write(
                f"\n{turns} turns a class, {days_between} days between, "
                f"correlation {correlation}\n{HEAD}"
            )
            for outcome in rows:
                self.stdout.write(table_row(outcome))

    def _watches(
        self, ladder: Ladder, gates: trial.OwnGates, children: int, seed: int
    ) -> list[watch_trial.WatchOutcome]:
        self._title("Once open: 12 classes at .92, then .95 for good, or a drop to .5; weekly")
        rate, decay = gates.unspotted.rate, ladder.short_decay
        outcomes = [
            outcome
            for correlation in CORRELATIONS
            for turns in TURNS
            for outcome in watch_trial.watch(rate, decay, turns, correlation, children, seed)
        ]
        self.stdout.write(WATCH_HEAD)
        for w in outcomes:
            self.stdout.write(
                f"{w.rule:<20}{w.turns!s:>8}{w.correlation:>7}{w.false_per_1000:>17.2f}{classes(w)}"
            )
        return outcomes


def load_ladder(path: Path) -> Ladder:
    try:
        return Ladder.from_content(parse(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, LadderFileError, KeyError) as error:
        raise CommandError(f"{path}: {error}") from None


def own_gates(ladder: Ladder) -> trial.OwnGates:
    """The practice rule, and the clean gate of the first stage that asks for a signature."""
    for stage in ladder.stages:
        for gate in stage.gates:
            if stage.sign_off and isinstance(gate, CleanGate):
                return trial.OwnGates(ladder.practice, gate.rule, ladder.decay)
    raise CommandError("No stage that asks for a signature has a clean gate.")


def setting_of(outcome: trial.Outcome) -> Setting:
    return outcome.turns, outcome.days_between, outcome.correlation


def table_row(outcome: trial.Outcome) -> str:
    under = (outcome.under_50, outcome.under_60, outcome.under_65, outcome.under_75)
    shares = "".join("      -" if share is None else f"{share:>7.3f}" for share in under)
    return f"{outcome.rule:<20}{outcome.opened:>8.3f}{shares}{classes(outcome)}"


def shares_row(row: share_trial.ShareOutcome) -> str:
    opens = (row.fast_opens, row.all_open, row.slow_opens, row.slow_opens_p90)
    columns = zip(
        (row.under_65, row.under_75, row.median_classes, row.p90_classes, row.slow_delay, *opens),
        (">7.4f", ">7.4f", ">8.1f", ">6.0f", ">6.1f", ">13.1f", ">6.1f", ">6.1f", ">6.0f"),
        strict=True,
    )
    figures = "".join(
        format("-", width.partition(".")[0]) if value is None else format(value, width)
        for value, width in columns
    )
    return f"{row.policy:<25}{row.opened:>8.3f}{figures}"


def limit_line(limit: share_trial.Limit) -> str:
    value, asked = ("-" if each is None else f"{each:.4g}" for each in (limit.value, limit.limit))
    word = "at least" if limit.at_least else "at most"
    return f"{'held' if limit.held else 'NOT HELD':<9}{limit.name}: {value}, asked {word} {asked}"


def classes(outcome: trial.Outcome | watch_trial.WatchOutcome) -> str:
    """The columns of median and p90; a dash where there is none."""
    median, p90 = (
        "-" if value is None else f"{value:.0f}"
        for value in (outcome.median_classes, outcome.p90_classes)
    )
    return f"{median:>8}{p90:>6}"


def check_limits(
    outcomes: Sequence[trial.Outcome], watches: Sequence[watch_trial.WatchOutcome]
) -> Iterator[str]:
    """Each limit of the program's own rules, the worst value, and whether the limit holds."""
    correlated = [outcome for outcome in outcomes if outcome.correlation == 0.1]
    unspotted = [outcome for outcome in correlated if outcome.rule == trial.UNSPOTTED_GATE]
    ten = [outcome for outcome in unspotted if outcome.turns == 10]
    other = [outcome for outcome in unspotted if outcome.turns != 10]
    practice = [outcome for outcome in correlated if outcome.rule == trial.PRACTICE_GATE]
    lately = [w for w in watches if w.rule == "lately" and w.correlation == 0.1]
    limits: list[tuple[str, list[float | None], float]] = [
        ("unspotted gate, ten turns, under .65", [e.under_65 for e in ten], 0.005),
        ("unspotted gate, ten turns, under .75", [e.under_75 for e in ten], 0.022),
        ("unspotted gate, ten turns, median classes", [e.median_classes for e in ten], 9),
        ("unspotted gate, three and varying, under .65", [e.under_65 for e in other], 0.01),
        ("unspotted gate, three and varying, under .75", [e.under_75 for e in other], 0.06),
        ("unspotted gate, three and varying, median", [e.median_classes for e in other], 13),
        ("practice gate, under .5", [e.under_50 for e in practice], 0.013),
        ("practice gate, under .6", [e.under_60 for e in practice], 0.042),
        ("lately, false re-checks per 1,000 turns", [*(e.false_per_1000 for e in lately)], 1),
        ("lately, classes until a drop to .5", [e.median_classes for e in lately], 3),
    ]
    for name, values, limit in limits:
        worst = max(float("inf") if value is None else value for value in values)
        yield f"{'held' if worst <= limit else 'NOT HELD':<9}{name}: {worst:.4g}, asked {limit}"
    better = [f"{e.rule} ({e.turns}, {e.days_between})" for e in better_rules(correlated)]
    yield (
        f"{'NOT HELD' if better else 'held':<9}no rule without knowledge of the model has both "
        f"fewer under .75 and a shorter median than the unspotted gate{': ' if better else ''}"
        + ", ".join(better)
    )


def better_rules(outcomes: Sequence[trial.Outcome]) -> list[trial.Outcome]:
    """The rules, filters apart, that open fewer under .75 and open sooner than the unspotted
    gate in the same setting."""
    gates = {setting_of(e): e for e in outcomes if e.rule == trial.UNSPOTTED_GATE}
    better = []
    for outcome in outcomes:
        gate = gates[setting_of(outcome)]
        if outcome.rule.startswith("filter") or None in (outcome.under_75, outcome.median_classes):
            continue
        fewer = (outcome.under_75 or 0) < (gate.under_75 or 0)
        sooner = (outcome.median_classes or 0) < (gate.median_classes or 0)
        if fewer and sooner:
            better.append(outcome)
    return better
