"""A text in glyphs, as a line would have it."""

from readiness.typesetting.order import levels
from readiness.typesetting.shaping import Run, choose_faces, runs


def shaped(text: str, names: tuple[str, ...] = (), base: int = 0) -> list[Run]:
    return list(runs(text, levels(text, base), choose_faces(text, names), bold=False))


def faces_of(text: str, *names: str) -> list[str]:
    return [run.weight.name.removesuffix("-Regular") for run in shaped(text, names)]
