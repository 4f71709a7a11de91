"""Paper logs, read into turns."""

import datetime
import hashlib
import uuid
from pathlib import Path

import pytest

from progression.ladder import file
from progression.models import Attempt, Drill, Surface
from progression.paper.line_ids import paper_line_id, uuid8
from progression.paper.log import LogContext, ParsedLog, floor_days, parse_paper_log
from progression.paper.words import Outcome, WordError, read_outcomes
from studio.imports.bring_in import FileOptions, bring_in
from studio.imports.refused_file import refused_file
from studio.imports.table_file import read_table
from studio.models import Child, ClassGroup, Location, Staff
from studio.people.names import fold_name
from studio.roster.bring_in import ROSTER, Scope
from tests.files import make_paper_logs

ROOT = Path(__file__).parents[2]
FILES = ROOT / "files"
LADDER = file.parse((ROOT.parent / "fixtures" / "ladder.toml").read_text())
NOW = datetime.datetime(2026, 5, 20, 20, 0, tzinfo=datetime.UTC)

pytestmark = pytest.mark.django_db


@pytest.fixture
def group() -> ClassGroup:
    hall = Location.objects.create(name="North hall", zone="Europe/Berlin")
    return ClassGroup.objects.create(
        name="Tumblers", location=hall, weekday=1, starts_at=datetime.time(16)
    )


@pytest.fixture
def tove() -> Staff:
    Staff.objects.create(username="ivar", role="assistant")
    return Staff.objects.create(username="tove", first_name="Tove", last_name="Lind", role="coach")


def child(group: ClassGroup, name: str, year: int = 2014, month: int = 2, **fields) -> Child:
    added = Child.objects.create(
        name=name, name_key=fold_name(name), birth_year=year, birth_month=month, **fields
    )
    group.children.add(added)
    return added


def parse(data: bytes | str, sender: Staff, dates: str | None = None, **more) -> ParsedLog:
    raw = data if isinstance(data, bytes) else data.encode()
    context = LogContext(
        ladder=LADDER,
        children=list(Child.objects.prefetch_related("classes__location").order_by("pk")),
        coaches=list(Staff.objects.order_by("pk")),
        sender=sender,
        now=NOW,
        **more,
    )
    return parse_paper_log(read_table(raw), context, dates)


def one_line(sender: Staff, header: str, line: str, **more) -> ParsedLog:
    return parse(f"{header}\n{line}\n", sender, **more)


# The five hundred lines.

REASONS = [
    ("Child", "The child is missing."),
    ("Child", "There is no child called “Nobody Here” here. Bring the roster in first."),
    (
        "Child",
        "More than one child fits “Ada”. Add a column “class”, “birth” (year and month) or “id” "
        "that says which.",
    ),
    (
        "Child",
        "More than one child fits “Lotte Wied”. Add a column “class”, “birth” (year and month) "
        "or “id” that says which.",
    ),
    ("Date", "The date is missing."),
    ("Date", "30.02.2026, read day first: there is no such day."),
    ("Date", "01.12.2026 is in the future."),
    ("Date", "01.12.2013 lies before the birth of Maren Holt."),
    ("Drill", "There is no drill called “Cartwheel”."),
    ("Surface", "There is no surface called “grass”."),
    ("Value", "The value is missing."),
    (
        "Value",
        "03. Mai is neither a word, a number nor a score. If a score was meant, write it again "
        "in a column that is text.",
    ),
    ("Value", "Back walkover is clean or not clean; “good” says neither."),
    ("Value", "7 is more than The sit, hands held can be, which is 3."),
    ("Value", "Wall shrugs, leaning is told by a whole number; 8.5 is none."),
    ("Support", "The support is missing."),
    (
        "Support",
        "“some” is no support: write hands-on, light touch, standing by or unspotted.",
    ),
    ("Faults", "There is no fault called “sleepy”."),
    ("Coach", "There is no coach called “Nobody” here."),
    ("Value", "A turn with a stop sign is not clean."),
    ("Value", "A turn in which the child was caught is not clean."),
    ("Value", "With a fault or a catch, give each turn a line of its own."),
    ("", "The line has more cells than the header has columns."),
]


@pytest.fixture
def children(group: ClassGroup) -> None:
    data = (FILES / "paper-children.csv").read_bytes()
    bring_in(ROSTER, data, FileOptions(), Scope.everything(), NOW)


@pytest.mark.parametrize(
    "file",
    [
        "paper-log-comma-utf8.csv",
        "paper-log-semicolon-windows-1252.csv",
        "paper-log-tab-utf16.txt",
    ],
)
def test_five_hundred_lines_give_the_right_turns_and_refusals(children, tove, file):
    log = parse((FILES / file).read_bytes(), tove)
    first_bad = 502 - len(REASONS)
    assert [(r.line, r.column, r.reason) for r in log.refused] == [
        (first_bad + place, *reason) for place, reason in enumerate(REASONS)
    ]
    # 477 good lines, one of which tells of five turns.
    assert len(log.turns) == 477 - 1 + 5
    assert log.scores == ((57, "3/5"),)
    assert len({turn.id for turn in log.turns}) == len(log.turns)
    assert {turn.id.version for turn in log.turns} == {8}


def test_every_variant_of_the_file_gives_the_same_turns(children, tove):
    outcomes = {
        tuple((t.id, t.done_at) for t in parse(content, tove).turns)
        for name, content in make_paper_logs.logs().items()
        if name != "paper-children.csv"
    }
    assert len(outcomes) == 1


def test_the_stored_files_are_the_ones_the_script_writes():
    for name, content in make_paper_logs.logs().items():
        assert (FILES / name).read_bytes() == content, name


def test_reading_the_same_file_again_gives_the_same_ids(children, tove):
    data = (FILES / "paper-log-comma-utf8.csv").read_bytes()
    assert parse(data, tove).turns == parse(data, tove).turns


# One line.


def test_a_line_says_everything_a_turn_carries(group, tove):
    maren = child(group, "Maren Holt", list_id="007")
    header = "date;id;child;drill;surface;value;support;faults;coach;note;caught"
    line = "3.2.26;007;Maren;Back handspring;spring floor;x;hands-on;squats + feet-move;Tove;wet;y"
    log = one_line(tove, header, line)
    assert log.refused == ()
    (turn,) = log.turns
    assert (turn.child, turn.day) == (maren, datetime.date(2026, 2, 3))
    assert (turn.drill, turn.surface, turn.support) == ("handspring", "spring-floor", 3)
    assert (turn.clean, turn.value, turn.caught) == (False, None, True)
    assert (turn.faults, turn.author, turn.note) == (("squats", "feet-move"), tove, "wet")
    # Noon in Berlin in February is 11:00 UTC; the file's second line lies a little after it.
    noon = datetime.datetime(2026, 2, 3, 11, 0, tzinfo=datetime.UTC)
    assert noon < turn.done_at < noon + datetime.timedelta(seconds=1)


def test_without_coach_and_surface_the_sender_and_the_usual_surface_stand(group, tove):
    child(group, "Maren Holt")
    header, line = "date,child,drill,value", "2026-02-03,Maren Holt,log-roll,clean"
    assert one_line(tove, header, line).refused[0].reason == "The surface is missing."
    (turn,) = one_line(tove, header, line, usual_surface="hard-floor").turns
    assert (turn.author, turn.surface, turn.support) == (tove, "hard-floor", 0)


def test_a_child_is_found_by_name_used_in_any_case(group, tove):
    inaki = child(group, "Iñaki Sol", name_used="Iñi")
    for name in ("IN\u0303I", "sol, iñaki", "Iñaki  Sol"):
        log = one_line(
            tove, "date;child;drill;surface;value", f'2026-02-03;"{name}";log-roll;wedge;clean'
        )
        assert [turn.child for turn in log.turns] == [inaki]


def test_the_order_of_lines_is_the_order_of_turns_within_each_day(group, tove):
    child(group, "Maren Holt")
    text = "date,child,drill,surface,value\n"
    for day, value in [("03", "x"), ("04", "clean"), ("03", "1/3"), ("03", "clean")]:
        text += f"2026-02-{day},Maren Holt,log-roll,wedge,{value}\n"
    log = parse(text, tove)
    by_time = sorted(log.turns, key=lambda turn: turn.done_at)
    assert [(t.day.day, t.clean) for t in by_time] == [
        (3, False),
        (3, True),
        (3, False),
        (3, False),
        (3, True),
        (4, True),
    ]


def test_a_mended_line_keeps_its_place_and_moves_no_other(group, tove):
    child(group, "Maren Holt")
    text = "date,child,drill,surface,value\n"
    text += "2026-02-03,Maren Holt,log-roll,wedge,oops\n2026-02-03,Maren Holt,log-roll,wedge,x\n"
    before = parse(text, tove).turns
    after = parse(text.replace("oops", "clean"), tove).turns
    assert after[1:] == before
    log = parse(text, tove)
    refused = refused_file(read_table(text.encode()), log.refused)
    (mended,) = parse(refused.replace("oops", "clean"), tove).turns
    assert mended == after[0]


def test_equal_lines_stay_two_and_other_days_begin_again(group, tove):
    child(group, "Maren Holt")
    text = "date,child,drill,surface,value\n"
    for day in ("03", "03", "04"):
        text += f"2026-02-{day},Maren Holt,log-roll,wedge,clean\n"
    ids = [turn.id for turn in parse(text, tove).turns]
    assert len(set(ids)) == 3
    assert ids[:2] == [turn.id for turn in parse(text.rpartition("2026-02-04")[0], tove).turns]


def test_the_same_file_sent_by_somebody_else_tells_of_the_same_turns(group, tove):
    child(group, "Maren Holt")
    text = "date,child,drill,value\n2026-02-03,Maren Holt,log-roll,clean\n"
    other = Staff.objects.create(username="dora", role="director")
    (mine,) = parse(text, tove, usual_surface="wedge").turns
    (theirs,) = parse(text, other, usual_surface="hard-floor").turns
    assert (mine.author, theirs.author) == (tove, other)
    assert mine.id == theirs.id


def test_dates_that_can_be_read_both_ways_are_asked_for(group, tove):
    child(group, "Maren Holt")
    text = "date,child,drill,surface,value\n03/02/2026,Maren Holt,log-roll,wedge,clean\n"
    log = parse(text, tove)
    assert (log.turns, log.dates.ask) == ((), True)
    (turn,) = parse(text, tove, "day-first").turns
    assert turn.day == datetime.date(2026, 2, 3)


def test_tomorrow_here_is_today_where_the_class_is(group, tove):
    child(group, "Maren Holt")
    group.location.zone = "Pacific/Auckland"
    group.location.save(update_fields=["zone"])
    header = "date,child,drill,surface,value"
    log = one_line(tove, header, "2026-05-21,Maren Holt,log-roll,wedge,clean")
    assert len(log.turns) == 1
    log = one_line(tove, header, "2026-05-22,Maren Holt,log-roll,wedge,clean")
    assert "future" in log.refused[0].reason


def test_the_same_cell_means_for_each_line_what_it_means_there(group, tove):
    """What a cell means is found out once in a file; beside another cell it may mean another."""
    child(group, "Maren Holt", 2014)
    child(group, "Ada Blom", 2016)
    east = Location.objects.create(name="Island hall", zone="Pacific/Kiritimati")
    tumblers = ClassGroup.objects.create(
        name="Islands", location=east, weekday=1, starts_at=datetime.time(16)
    )
    child(tumblers, "Tio Rua")
    log = parse(
        "date,child,drill,surface,value,support\n"
        "2015-06-01,Maren Holt,log-roll,grass,1,\n"
        "2015-06-01,Maren Holt,log-roll,sprung-dance-floor,1,\n"
        "2015-06-01,Ada Blom,log-roll,sprung-dance-floor,1,\n"
        "2026-05-21,Maren Holt,log-roll,sprung-dance-floor,1,\n"
        "2026-05-21,Tio Rua,log-roll,sprung-dance-floor,1,\n"
        "2026-05-20,Maren Holt,hollow-hold,sprung-dance-floor,1,\n"
        "2026-05-20,Maren Holt,handspring,sprung-dance-floor,1,\n"
        "2015-06-01,Maren Holt,log-roll,grass,1,\n",
        tove,
    )
    rows = [(turn.child.name, turn.drill, turn.clean, turn.value) for turn in log.turns]
    assert rows == [
        ("Maren Holt", "log-roll", True, None),
        ("Tio Rua", "log-roll", True, None),
        ("Maren Holt", "hollow-hold", None, 1.0),
    ]
    assert [(refused.line, refused.reason) for refused in log.refused] == [
        (2, "There is no surface called “grass”."),
        (4, "2015-06-01 lies before the birth of Ada Blom."),
        (5, "2026-05-21 is in the future."),
        (8, "The support is missing."),
        (9, "There is no surface called “grass”."),
    ]


def test_a_table_without_the_needed_columns_is_no_log(tove):
    log = parse("when,who\n2026-02-03,Maren\n", tove)
    assert "no column for: date, child, drill, value" in log.fault


def test_days_that_have_floor_lines_are_found(group, tove):
    maren = child(group, "Maren Holt")
    header = "date,child,drill,surface,value"
    turns = parse(
        f"{header}\n2026-02-03,Maren Holt,log-roll,wedge,clean\n"
        "2026-02-04,Maren Holt,log-roll,wedge,clean\n",
        tove,
    ).turns
    assert floor_days(turns) == set()
    drill = Drill.objects.get_or_create(key="log-roll")[0]
    surface = Surface.objects.get_or_create(key="wedge")[0]
    for day, source in [(3, "floor"), (4, "paper")]:
        Attempt.objects.create(
            id=uuid.uuid4(),
            child=maren,
            drill=drill,
            surface=surface,
            day=datetime.date(2026, 2, day),
            done_at=NOW,
            support=0,
            clean=True,
            graded=True,
            author=tove,
            sender=tove,
            source=source,
            received_at=NOW,
        )
    assert floor_days(turns) == {(maren.pk, "log-roll", datetime.date(2026, 2, 3))}


def test_an_assistant_logs_turns_but_gives_no_grades(group, tove):
    child(group, "Maren Holt")
    header = "date,child,drill,surface,value,coach"
    log = one_line(tove, header, "2026-02-03,Maren Holt,sit-depth,wedge,2,ivar")
    assert [(r.column, r.reason) for r in log.refused] == [
        ("coach", "The sit, hands held is graded, and ivar does not grade.")
    ]
    (turn,) = one_line(tove, header, "2026-02-03,Maren Holt,log-roll,wedge,clean,ivar").turns
    assert turn.graded is False
    (turn,) = one_line(tove, header, "2026-02-03,Maren Holt,sit-depth,wedge,2,tove").turns
    assert (turn.graded, turn.value, turn.source) == (False, 2, "paper")
    assert turn.awaits in ("author", "both")


def test_a_clean_turn_may_show_a_small_fault_but_no_stop_sign(group, tove):
    child(group, "Maren Holt")
    header = "date,child,drill,surface,value,support,faults"
    line = "2026-02-03,Maren Holt,handspring,wedge,clean,hands-on"
    assert one_line(tove, header, f"{line},legs-apart").turns[0].faults == ("legs-apart",)
    log = one_line(tove, header, f"{line},legs-apart+arms-give")
    assert [r.reason for r in log.refused] == ["A turn with a stop sign is not clean."]


# Words and ids.

CLEAN_DRILL = {"key": "log-roll", "name": "Log roll", "measure": "clean", "most": 1}


@pytest.mark.parametrize(
    ("cell", "clean"),
    [
        ("clean", [True]),
        ("CLEAN", [True]),
        ("✓", [True]),
        ("1", [True]),
        ("not clean", [False]),
        ("not-clean", [False]),
        ("x", [False]),
        ("0", [False]),
        ("3/5", [True, True, True, False, False]),
        ("0 / 2", [False, False]),
    ],
)
def test_a_value_says_clean_or_not(cell, clean):
    assert read_outcomes(cell, CLEAN_DRILL) == [Outcome(c, None) for c in clean]


@pytest.mark.parametrize("cell", ["6/5", "0/0", "31/31", "maybe", "-1", "5", ""])
def test_a_value_that_says_neither_is_refused(cell):
    with pytest.raises(WordError):
        read_outcomes(cell, CLEAN_DRILL)


@pytest.mark.parametrize(
    ("measure", "cell", "value"),
    [
        ("seconds", "12", 12),
        ("seconds", "12,5 s", 12.5),
        ("seconds", "0", 0),
        ("reps", "8 reps", 8),
        ("grade", "3", 3),
    ],
)
def test_a_number_is_read_by_the_drills_measure(measure, cell, value):
    drill = {"key": "d", "name": "D", "measure": measure, "most": 30}
    assert read_outcomes(cell, drill) == [Outcome(None, value)]


@pytest.mark.parametrize(
    ("measure", "cell"),
    [("seconds", "31"), ("reps", "2.5"), ("grade", "3/5"), ("grade", "clean"), ("reps", "-1")],
)
def test_a_number_that_does_not_fit_the_measure_is_refused(measure, cell):
    with pytest.raises(WordError):
        read_outcomes(cell, {"key": "d", "name": "D", "measure": measure, "most": 30})


def test_an_id_is_laid_out_as_the_standard_says():
    # RFC 9562, appendix B.2: SHA-256 of the DNS namespace and "www.example.com" as UUIDv8.
    digest = hashlib.sha256(uuid.NAMESPACE_DNS.bytes + b"www.example.com").digest()
    number = int.from_bytes(digest[:16])
    result = uuid8(number >> 80, number >> 64, number)
    assert str(result) == "5c146b14-3c52-8afd-938a-375d0df1fbf6"
    assert (result.version, result.variant) == (8, uuid.RFC_4122)


def test_an_id_begins_with_the_day_and_depends_on_every_field():
    day = datetime.date(2026, 2, 3)
    result = paper_line_id(day, ["a", 1, None, 0])
    # 2026-02-03T00:00:00Z is 1,770,076,800,000 ms after 1970-01-01.
    assert result.int >> 80 == 1_770_076_800_000
    others = [
        paper_line_id(day, ["b", 1, None, 0]),
        paper_line_id(day, ["a", 2, None, 0]),
        paper_line_id(day, ["a", 1, 0, 0]),
        paper_line_id(day, ["a", 1, None, 1]),
        paper_line_id(day + datetime.timedelta(days=1), ["a", 1, None, 0]),
    ]
    assert len({result, *others}) == 6
    assert paper_line_id(day, ["a", 1, None, 0]) == result


# --- a drill that was split --------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "drill"),
    [
        ("wall-shrugs", "wall-shrugs"),
        ("Wall shrugs, upright", "wall-shrugs-upright"),
        ("Wall handstand, belly to the wall", "wall-handstand"),
    ],
)
def test_a_name_that_is_still_one_drill_is_read(
    tove: Staff, group: ClassGroup, cell: str, drill: str
) -> None:
    child(group, "Maren Holt")
    log = one_line(
        tove, "date,child,drill,surface,value", f'2026-02-03,Maren Holt,"{cell}",wedge,4'
    )
    assert [turn.drill for turn in log.turns] == [drill]


def test_a_name_that_is_two_drills_now_is_said_to_be(tove: Staff, group: ClassGroup) -> None:
    child(group, "Maren Holt")
    log = one_line(
        tove, "date,child,drill,surface,value", "2026-02-03,Maren Holt,Wall shrugs,wedge,4"
    )
    (refused,) = log.refused
    assert refused.reason == (
        "“Wall shrugs” is two drills now, “Wall shrugs, upright” and “Wall shrugs, leaning”: "
        "write which one it was."
    )
