"""manage.py compare_rules [--children N --seed S --json]: a trial of rules on invented children.

Needs no database. docs/decisions.md says what came of it.
"""

import json
from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from progression.ladder.file import LadderFileError, parse
from readiness.engine.gates import CleanGate
from readiness.engine.ladder import Ladder
from readiness.engine.trial import invented_children as invented
from readiness.engine.trial import other_rules, watch_trial
from readiness.engine.trial import rule_trial as trial

CORRELATIONS = (0.0, 0.1, 0.2)
TURNS: tuple[invented.Turns, ...] = (3, 10, invented.VARYING)
DAYS_BETWEEN = (3.5, 7.0)
LADDER = settings.BASE_DIR / "fixtures" / "ladder.toml"
# Own worlds are tried in these settings only.
OWN_SETTINGS: tuple[tuple[invented.Turns, float, float], ...] = ((3, 7.0, 0.1), (10, 3.5, 0.1))

HEAD = (
    f"{'rule':<20}{'opened':>8}{'<.50':>7}{'<.60':>7}{'<.65':>7}{'<.75':>7}{'median':>8}{'p90':>6}"
)


class Command(BaseCommand):
    help = "Compare the ladder's own rules with others, on invented children."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--children", type=int, default=4000)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true", help="print the fixed world as JSON")
        parser.add_argument("--ladder", default=LADDER, help="a ladder file")

    def handle(self, *args: Any, **options: Any) -> None:
        children, seed = options["children"], options["seed"]
        if children < 1 or seed < 0:
            raise CommandError("Give at least one child, and a seed of 0 or more.")
        ladder = _ladder(Path(options["ladder"]))
        gates = _own_gates(ladder)
        every = [(t, d, c) for c in CORRELATIONS for t in TURNS for d in DAYS_BETWEEN]
        found = trial.compare(invented.FIXED, gates, other_rules.Filter(), every, children, seed)
        if options["json"]:
            self.stdout.write(json.dumps([asdict(outcome) for outcome in found], indent=1))
            return
        self._intro(gates, children, seed)
        self._tables(found)
        own: list[trial.Outcome] = []
        for world in invented.OWN_WORLDS:
            self._title(f"{world.name}: {world.origin}")
            here = trial.compare(world, gates, None, OWN_SETTINGS, children, seed)
            self._tables(here)
            own += beats(here)
        self._title("Light touch counted for the unspotted gate, at a share of its weight")
        for setting in OWN_SETTINGS:
            self._tables(trial.borrowing(gates, setting, children, seed))
        watches = self._watches(ladder, gates, children, seed)
        self._title("Bars, at correlation .1")
        noise = 2 * (0.05 * 0.95 / children) ** 0.5
        self.stdout.write(
            f"With {children} children a share of .05 is known to about ± {noise:.3f}."
        )
        for line in bars(found, watches):
            self.stdout.write(line)
        better = ", ".join(f"{each.rule} ({each.turns} turns)" for each in own)
        self.stdout.write(
            f"In the other worlds a rule is better on both counts: {better or 'none'}"
        )

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

    def _tables(self, found: Sequence[trial.Outcome]) -> None:
        shown = None
        for each in found:
            setting = each.turns, each.days_between, each.correlation
            if setting != shown:
                shown = setting
                self.stdout.write(
                    f"\n{each.turns} turns a class, {each.days_between} days between, "
                    f"correlation {each.correlation}\n{HEAD}"
                )
            self.stdout.write(_line(each))

    def _watches(
        self, ladder: Ladder, gates: trial.OwnGates, children: int, seed: int
    ) -> list[watch_trial.WatchOutcome]:
        self._title("Once open: 12 classes at .92, then .95 for good, or a drop to .5; weekly")
        memory = ladder.short_decay
        found = [
            each
            for correlation in CORRELATIONS
            for turns in TURNS
            for each in watch_trial.watch(
                gates.unspotted.rate, memory, turns, correlation, children, seed
            )
        ]
        self.stdout.write(
            f"{'rule':<20}{'turns':>8}{'corr.':>7}{'false per 1,000':>17}{'median':>8}{'p90':>6}"
        )
        for w in found:
            self.stdout.write(
                f"{w.rule:<20}{w.turns!s:>8}{w.correlation:>7}{w.false_per_1000:>17.2f}"
                f"{_number(w.median_classes, 8)}{_number(w.p90_classes, 6)}"
            )
        return found


def _ladder(path: Path) -> Ladder:
    try:
        return Ladder.from_content(parse(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, LadderFileError, KeyError) as error:
        raise CommandError(f"{path}: {error}") from None


def _own_gates(ladder: Ladder) -> trial.OwnGates:
    """The practice rule, and the clean gate of the first stage that asks for a signature."""
    unspotted = next(
        (
            gate.rule
            for stage in ladder.stages
            if stage.sign_off
            for gate in stage.gates
            if isinstance(gate, CleanGate)
        ),
        None,
    )
    if unspotted is None:
        raise CommandError("No stage that asks for a signature has a clean gate.")
    return trial.OwnGates(ladder.practice, unspotted, ladder.decay)


def _line(each: trial.Outcome) -> str:
    under = (each.under_50, each.under_60, each.under_65, each.under_75)
    shares = "".join("      -" if share is None else f"{share:>7.3f}" for share in under)
    delays = f"{_number(each.median_classes, 8)}{_number(each.p90_classes, 6)}"
    return f"{each.rule:<20}{each.opened:>8.3f}{shares}{delays}"


def _number(value: float | None, width: int) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:>{width}.0f}"


def bars(
    found: Sequence[trial.Outcome], watches: Sequence[watch_trial.WatchOutcome]
) -> Iterable[str]:
    """What is asked of the program's own rules, the worst that was found, and whether it holds."""
    at = [each for each in found if each.correlation == 0.1]
    own = [each for each in at if each.rule == trial.UNSPOTTED_GATE]
    ten = [each for each in own if each.turns == 10]
    few = [each for each in own if each.turns != 10]
    practice = [each for each in at if each.rule == trial.PRACTICE_GATE]
    lately = [each for each in watches if each.rule == "lately" and each.correlation == 0.1]
    asked: list[tuple[str, list[float | None], float]] = [
        ("unspotted gate, ten turns, under .65", [e.under_65 for e in ten], 0.005),
        ("unspotted gate, ten turns, under .75", [e.under_75 for e in ten], 0.022),
        ("unspotted gate, ten turns, median classes", [e.median_classes for e in ten], 9),
        ("unspotted gate, three and varying, under .65", [e.under_65 for e in few], 0.01),
        ("unspotted gate, three and varying, under .75", [e.under_75 for e in few], 0.06),
        ("unspotted gate, three and varying, median", [e.median_classes for e in few], 13),
        ("practice gate, under .5", [e.under_50 for e in practice], 0.013),
        ("practice gate, under .6", [e.under_60 for e in practice], 0.042),
        ("lately, false re-checks per 1,000 turns", [*(e.false_per_1000 for e in lately)], 1),
        ("lately, classes until a drop to .5", [e.median_classes for e in lately], 3),
    ]
    for name, values, most in asked:
        worst = max(float("inf") if value is None else value for value in values)
        yield f"{'held' if worst <= most else 'NOT HELD':<9}{name}: {worst:.4g}, asked {most}"
    better = [f"{each.rule} ({each.turns}, {each.days_between})" for each in beats(at)]
    yield (
        f"{'NOT HELD' if better else 'held':<9}no rule without knowledge of the model has both "
        f"fewer under .75 and a shorter median than the unspotted gate{': ' if better else ''}"
        + ", ".join(better)
    )


def beats(found: Sequence[trial.Outcome]) -> list[trial.Outcome]:
    """The rules, filters apart, that open fewer under .75 and open sooner than the unspotted
    gate in the same setting."""
    own = {
        (e.turns, e.days_between, e.correlation): e for e in found if e.rule == trial.UNSPOTTED_GATE
    }
    better = []
    for each in found:
        gate = own[each.turns, each.days_between, each.correlation]
        if each.rule.startswith("filter") or None in (each.under_75, each.median_classes):
            continue
        fewer = (each.under_75 or 0) < (gate.under_75 or 0)
        sooner = (each.median_classes or 0) < (gate.median_classes or 0)
        if fewer and sooner:
            better.append(each)
    return better
