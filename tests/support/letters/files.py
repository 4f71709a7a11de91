"""Letters for tests: written from a reading, and read back from their file."""

import datetime
import io
import re
import subprocess
import unicodedata
import uuid
from collections import Counter
from dataclasses import replace
from typing import Any

import pypdf

from progression.models import Drill, LadderVersion, Surface
from readiness.letters.beside.page import Beside
from readiness.letters.letter import Letter
from readiness.models import DayTally
from tests.support.cast import NOW, TODAY, Cast
from tests.support.letters.poppler import skip_without

DAY = datetime.timedelta(days=1)


def pages_of(file: bytes) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(file)).pages)


def folded(text: str) -> str:
    """Where a line breaks is the page's affair; what cannot be seen is not printed."""
    seen = "".join(each for each in text if each.isspace() or unicodedata.category(each) != "Cc")
    return " ".join(unicodedata.normalize("NFC", seen).split())


def text_of(file: bytes) -> str:
    return folded("\n".join(page.extract_text() for page in pages_of(file)))


def letters_of(text: str) -> Counter[str]:
    return Counter("".join(text.split()))


def text_by_poppler(file: bytes) -> str:
    """What pdftotext reads, without the marks of direction that it adds itself."""
    skip_without("pdftotext")
    done = subprocess.run(
        ["pdftotext", "-enc", "UTF-8", "-", "-"], input=file, capture_output=True, check=True
    )
    assert done.stderr == b""
    return folded(re.sub("[\u200e\u200f\u202a-\u202e]", "", done.stdout.decode()))


def said(letter: Letter) -> str:
    """Its sentences, without what stands beside them."""
    return "\n".join(replace(letter, beside=Beside()).texts())


def called(drill: str) -> str:
    """What a drill is called in a letter: the part of its line before the colon, or its name."""
    named = read_content()["drill"]
    (found,) = (each for each in named if each["key"] == drill)
    return str(found["letter"].split(":")[0] if "letter" in found else found["name"])


def stage_called(number: int) -> str:
    (found,) = (each for each in read_content()["stage"] if each["number"] == number)
    return str(found["letter"].split(":")[0] if "letter" in found else found["name"])


def read_content() -> dict[str, Any]:
    return LadderVersion.objects.latest("number").content


def surface_called(key: str) -> Surface:
    return Surface.objects.get(key=key)


def climb_to_the_walkover(cast: Cast) -> None:
    """A believable record for Mai, thirty weeks of it: stage 3 opens in the last twelve."""
    drills = Drill.objects.in_bulk(field_name="key")
    surface = surface_called("sprung-dance-floor")
    rows = []
    for week in range(30):
        shapes = {"hollow-hold": 10, "arch-hold": 10, "front-support": 12, "wall-handstand": 6}
        values = {drill: float(least + week) for drill, least in shapes.items()}
        clean = {"safe-fall": (2, 0)}
        values["name-the-shape"] = 5.0
        if week > 18:
            values |= {"bridge-hold": float(week), "bridge-line": 2.0}
            clean |= {"kick-over-block": (3, 2), "back-bend-raised": (3, 2)}
        if week > 22:
            clean["back-walkover"] = (3, 3)
        for drill in [*values, *clean]:
            turns, support = clean.get(drill, (2, 0))
            rows.append(
                DayTally(
                    child=cast.mai,
                    drill=drills[drill],
                    surface=surface,
                    support=support,
                    author=cast.omar,
                    day=TODAY - 7 * (30 - week) * DAY,
                    turns=turns,
                    clean=turns if drill in clean else 0,
                    graded=turns,
                    graded_clean=turns if drill in clean else 0,
                    best=values.get(drill),
                    best_graded=values.get(drill),
                    second_graded=values.get(drill),
                    stop_signs=0,
                    first_at=NOW - 7 * (30 - week) * DAY,
                    first_id=uuid.uuid4(),
                    first_clean=drill in clean or None,
                    first_graded=True,
                )
            )
    DayTally.objects.bulk_create(rows)
