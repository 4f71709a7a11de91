"""What every benchmark shares: figures, limits, the machine, and how a result is told."""

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from importlib.metadata import version


@dataclass(frozen=True)
class Options:
    """What was asked for. full: with ten times as long a record. database: its URL, or SQLite."""

    full: bool = False
    database: str | None = None


@dataclass(frozen=True)
class Spread:
    """Median, the 95th percentile and the middle half of some measurements, in ``unit``."""

    name: str
    n: int
    median: float
    p95: float
    quarter: float
    three_quarters: float
    unit: str = "ms"

    def told(self) -> str:
        return (
            f"{self.name}: median {self.median:.2f} {self.unit}, 95 % {self.p95:.2f}, "
            f"middle half {self.quarter:.2f} to {self.three_quarters:.2f} (n = {self.n})"
        )


def spread(name: str, values: Sequence[float], unit: str = "ms") -> Spread:
    """Needs at least two values; percentiles by linear interpolation."""
    p95, quarter, three_quarters = (percentile(values, percent) for percent in (95, 25, 75))
    return Spread(name, len(values), statistics.median(values), p95, quarter, three_quarters, unit)


def percentile(values: Sequence[float], percent: int) -> float:
    """By linear interpolation; from 1 to 99, of at least two values."""
    return statistics.quantiles(values, n=100, method="inclusive")[percent - 1]


def ms(work: Callable[[], object]) -> float:
    """How long it takes, in milliseconds."""
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def processor_ms(work: Callable[[], object]) -> float:
    """How much of the processor it takes, in milliseconds: other programs do not count."""
    began = time.process_time()
    work()
    return (time.process_time() - began) * 1000


@dataclass(frozen=True)
class Limit:
    """A figure and the most that it may be."""

    name: str
    value: float
    most: float

    @property
    def holds(self) -> bool:
        return self.value <= self.most

    def told(self) -> str:
        word = "holds" if self.holds else "OVER"
        return f"{word}: {self.name} {self.value:.3f}, at most {self.most:g}"


@dataclass(frozen=True)
class Result:
    """What one benchmark measured. ``about``: sizes and settings by name."""

    name: str
    about: dict[str, object]
    spreads: list[Spread]
    limits: list[Limit]
    machine: dict[str, str] = field(default_factory=lambda: machine())

    @property
    def holds(self) -> bool:
        return all(limit.holds for limit in self.limits)

    def told(self) -> str:
        head = [f"{self.name} on {', '.join(f'{k} {v}' for k, v in self.machine.items())}"]
        about = [", ".join(f"{name} {value}" for name, value in self.about.items())]
        rows = [each.told() for each in self.spreads] + [each.told() for each in self.limits]
        return "\n".join(head + about + rows)

    def as_json(self) -> str:
        return json.dumps({**asdict(self), "holds": self.holds}, indent=2)


def machine() -> dict[str, str]:
    """Cores, Python and the libraries that matter; the database if Django is set up."""
    return {
        "cores": str(os.cpu_count()),
        "system": f"{platform.system()} {platform.machine()}",
        "Python": platform.python_version(),
        "Django": version("Django"),
        **_database(),
    }


def _database() -> dict[str, str]:
    from django.conf import settings
    from django.db import connection

    if not settings.configured:
        return {}
    numbers = connection.get_database_version()
    return {connection.display_name: ".".join(str(number) for number in numbers)}
