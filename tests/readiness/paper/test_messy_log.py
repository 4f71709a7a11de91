"""A paper log as messy as they come: its words are asked once, and what is refused has a name."""

import random

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from progression.models import Attempt
from studio.models import FileWord
from tests.support.cast import NOW, make_child
from tests.support.imports.asked import confirm_fields, words_asked

pytestmark = pytest.mark.django_db

# Words of the paper that the ladder does not have: how a director would answer.
ANSWERS = {
    "word:drill:log rolls": "Hollow-arch log roll",
    "word:drill:wall shrugs": "Wall shrugs, upright",
    "word:surface:the wedge": "Wedge, downhill",
    "word:surface:out on the lawn": "leave these lines out",
    "word:faults:bent arms": "Elbows bent in the bridge",
    "word:faults:sleepy": "no fault",
    "word:value:good": "clean",
    "word:value:wobbly": "not clean",
    "word:support:a finger": "light touch",
    "word:coach:miss omar": "Omar",
    "word:child:zo": "Zoë Brandt",
}
# What stands in the good lines:
# child, class, drill, surface, value, support, faults, caught, coach.
GOOD = [
    ("Inés Sol", "", "Log rolls", "wedge", "good", "", "", "nee", ""),
    ("INES SOL", "blue", "hollow-arch LOG ROLL", "The wedge", "Wobbly", "", "bent arms", "", ""),
    ("Sol, Inés", "", "log-roll", "the  wedge", "3/5", "", "", "", "Miss Omar"),
    ("Zo", "", "Wall shrugs", "Wedge, downhill", "12", "", "", "", "omar"),
    ("Zoe Brandt", "", "HOLLOW HOLD", "wedge", "14,5 s", "", "sleepy", "", "OMAR"),
    ("Ada", "Red", "Kick to handstand", "wedge", "x", "a finger", "Bent  arms", "ja", ""),
    ("ada", "BLUE", "kick to handstand", "wedge", "✓", "Hands-on", "", "Nein", "Omar"),
]
# Lines that cannot be taken (date, child, drill, surface, value), and how they are named.
NO_SCORE = "… is no score: so many clean out of so many."
NO_VALUE = (
    "… is neither a word, a number nor a score. If a score was meant, write it again in a column "
    "that is text."
)
DAY, INES = "03/02/2026", "Inés Sol"
BAD = [
    ("", INES, "log-roll", "wedge", "x", "The date is missing."),
    ("2031-01-01", INES, "log-roll", "wedge", "x", "… is in the future."),
    ("30/02/2026", INES, "log-roll", "wedge", "x", "…, read …: there is no such day."),
    (DAY, "", "log-roll", "wedge", "x", "The child is missing."),
    (DAY, INES, "log-roll", "Out on the lawn", "x", "There is no surface called “…”."),
    (DAY, INES, "log-roll", "wedge", "6/5", NO_SCORE),
    (DAY, INES, "log-roll", "wedge", "05. Mai", NO_VALUE),
    (DAY, INES, "hollow hold", "wedge", "900", "… is more than … can be, which is …."),
    (DAY, INES, "hollow hold", "wedge", "", "The value is missing."),
    (DAY, INES, "", "wedge", "x", "The drill is missing."),
]
HEADER = "DÁTE;Child's náme;Gróup;Excercise;Surface;RESULT;Support;Faults;Caught;Seen  by"


def messy_log(lines: int) -> str:
    """So many lines; one in ten cannot be taken."""
    chance = random.Random(14)
    rows = []
    for number in range(lines):
        if number % 10 == 9:
            day, child, drill, surface, value, _kind = BAD[number // 10 % len(BAD)]
            cells = [day, child, "", drill, surface, value, "", "", "", ""]
        else:
            child, group, drill, surface, value, *rest = GOOD[number % len(GOOD)]
            day = f"{chance.randint(13, 28)}/{chance.randint(1, 2):02d}/2026"
            cells = [day, child, group, drill, surface, value, *rest]
        rows.append(";".join(f'"{cell}"' if "," in cell else cell for cell in cells))
    return "\n".join([HEADER, *rows])


@pytest.fixture
def petra(cast):
    for name in ("Inés Sol", "Zoë Brandt", "Ada Alder"):
        make_child(name, cast.blue, born=(2013, 5))
    make_child("Ada Lund", cast.red, born=(2013, 6))
    client = Client()
    client.force_login(cast.petra)
    with time_machine.travel(NOW, tick=False):
        yield client


def preview_of(client: Client, text: str) -> str:
    file = SimpleUploadedFile("log.csv", ("\ufeff" + text).encode())
    return client.post("/paper", {"file": file})["Location"]


def answer_all(client: Client, address: str, answers: dict[str, str]) -> int:
    """Answer every word that is asked, in one form; returns how many there were."""
    asked = words_asked(client.get(address).content.decode())
    posted = {name: options[answers[name]] for name, options in asked.items()}
    client.post(f"{address}/options", {"encoding": "", **posted})
    return len(posted)


def test_six_hundred_messy_lines_go_in_after_one_round_of_answers(petra):
    address = preview_of(petra, messy_log(600))
    # The header “Excercise” is none that the program knows: it is said on the page.
    page = petra.get(address).content.decode()
    assert "There is no column for: drill." in page
    petra.post(f"{address}/options", {"word:column:excercise": "drill"})
    assert answer_all(petra, address, ANSWERS) == len(ANSWERS)
    page = petra.get(address).content.decode()
    assert words_asked(page) == {}
    for _day, _child, _drill, _surface, _value, kind in BAD:
        assert f'data-label="What is wrong">{kind}</td>' in page
    petra.post(f"{address}/confirm", confirm_fields(page))
    page = petra.get(address).content.decode()
    assert "60 lines were left out" in page
    # 540 good lines; the one in seven that says 3/5 tells of five turns.
    scores = sum("3/5" in line for line in messy_log(600).splitlines())
    assert Attempt.objects.count() == 540 + 4 * scores
    # A second file asks again only who “Zo” is and whether lines are to be left out.
    again = preview_of(petra, messy_log(600).replace("2026", "2025"))
    asked = words_asked(petra.get(again).content.decode())
    assert list(asked) == ["word:child:zo", "word:surface:out on the lawn"]
    assert not FileWord.objects.filter(what="child").exists()


def test_questions_that_a_word_hides_are_asked_with_it(petra):
    """A drill nobody knows does not keep the line's other words from being asked about."""
    address = preview_of(
        petra, "date;child;drill;surface;value;support\n2026-02-03;Mai Tran;Rolls;wedge;good;a bit"
    )
    asked = words_asked(petra.get(address).content.decode())
    assert set(asked) == {"word:drill:rolls", "word:value:good", "word:support:a bit"}


def test_an_answer_counts_for_all_lines_and_is_shown_with_how_many(petra):
    line = "2026-02-03;Mai Tran;log-roll;wedge;good\n"
    address = preview_of(petra, "date;child;drill;surface;value\n" + line * 12)
    page = petra.get(address).content.decode()
    assert '<td class="num" data-label="Lines">12</td>' in page
    petra.post(f"{address}/options", {"word:value:good": "clean"})
    assert "12 turns would be added," in petra.get(address).content.decode()


def test_an_answer_that_is_not_offered_is_asked_again_and_nothing_is_taken(petra):
    text = "date;child;drill;surface;value\n2026-02-03;Mai Tran;Rolls;wedge;x\n"
    address = preview_of(petra, text)
    petra.post(f"{address}/options", {"word:drill:rolls": "no-such-drill", "word:nonsense:a": "b"})
    page = petra.get(address).content.decode()
    assert "word:drill:rolls" in words_asked(page)
    assert "0 turns would be added," in page


def test_a_name_of_before_a_drill_was_split_is_asked_about_and_only_its_halves_are_offered(petra):
    text = "date;child;drill;surface;value\n2026-02-03;Mai Tran;Wall shrugs;wedge;4\n"
    address = preview_of(petra, text)
    asked = words_asked(petra.get(address).content.decode())["word:drill:wall shrugs"]
    assert list(asked) == [
        "not answered", "Wall shrugs, upright", "Wall shrugs, leaning", "leave these lines out",
    ]  # fmt: skip
    petra.post(f"{address}/options", {"word:drill:wall shrugs": asked["Wall shrugs, leaning"]})
    page = petra.get(address).content.decode()
    petra.post(f"{address}/confirm", confirm_fields(page))
    assert Attempt.objects.get().drill.key == "wall-shrugs"


def test_two_children_of_one_name_are_told_apart_by_their_class(petra, cast):
    text = "date;child;class;drill;surface;value\n2026-02-03;Ada;Red;log-roll;wedge;x\n"
    address = preview_of(petra, text)
    petra.post(f"{address}/confirm", confirm_fields(petra.get(address).content.decode()))
    assert Attempt.objects.get().child.name == "Ada Lund"
    # Without the class it is asked, and nothing is guessed.
    address = preview_of(petra, text.replace("Red", ""))
    asked = words_asked(petra.get(address).content.decode())["word:child:ada"]
    assert {"Ada Alder", "Ada Lund"} < set(asked)


def test_the_left_out_file_of_a_left_out_file_goes_in(petra):
    text = "date;child;drill;surface;value\n2026-02-03;Mai Tran;log-roll;wedge;6/5\n"
    text += "2026-02-03;Mai Tran;log-roll;wedge;7/5\n"
    address = preview_of(petra, text)
    for mended in ("6/5", "7/5"):
        left_out = petra.get(f"{address}/left-out").content.decode("utf-8-sig")
        assert left_out.splitlines()[0].count("refused line") == 1
        address = preview_of(petra, left_out.replace(mended, "clean"))
        page = petra.get(address).content.decode()
        assert "1 turn would be added," in page
        petra.post(f"{address}/confirm", confirm_fields(page))
    # Each has the place of its line in the first file.
    times = [turn.done_at for turn in Attempt.objects.order_by("done_at")]
    assert (times[1] - times[0]).total_seconds() == 0.1
