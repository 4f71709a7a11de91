"""Every page of the site with real objects behind it, for the tests that look at all of them.

A new address belongs into ``addresses``; tests/studio/test_access.py fails until it is there
and has a row in the table of who may do what. A page that can look different enough to have
words or markup of its own in another state belongs into ``visits``.
"""

import datetime
import io
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from pypdf import PdfWriter

from progression.log.lines import SCHEMA
from progression.models import Attempt, Drill, LadderVersion, RejectedLine, Surface
from readiness.letters.sentence import Sentence
from readiness.models import (
    Clearance,
    DoorNote,
    Erasure,
    Fell,
    HeadKnock,
    HourChild,
    IncidentAccount,
    IncidentAddition,
    LetterDraft,
    LetterGiven,
    LetterInRun,
    LetterRun,
    Pain,
    Pause,
    Placing,
    PrintedLetter,
    SecondGrade,
    Show,
    ShowEntry,
    ShowNumber,
    StationPlace,
    StationPlan,
    Told,
    Twelve,
    TwelveAnswers,
    WallScreen,
)
from readiness.outbox.views import RESULT
from readiness.outbox.words import REASONS
from readiness.record.intake import take_lines
from studio.models import (
    BroughtIn,
    Child,
    ClassGroup,
    Holiday,
    Meeting,
    Merge,
    NotDouble,
    Staff,
    Tablet,
)
from studio.people.merging import merge
from studio.people.names import fold_name
from studio.sign_in.pins import set_pin
from studio.sign_in.throttle import FREE, begin
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import TODAY, Cast, Logged, make_class, time_ordered_id
from tests.support.guards import forget_answers

_blank = PdfWriter()
_blank.add_blank_page(595, 842)
_file = io.BytesIO()
_blank.write(_file)
EMPTY_PDF = _file.getvalue()
# During the blue class's meeting; the hall is an hour ahead.
EVENING = datetime.datetime(2026, 3, 4, 18, 0, tzinfo=datetime.UTC)

# What the files hold; the columns' names are in capitals to tell them from words of the page.
ROSTER = """\
NAME,BIRTH,CLASS,GUARDIAN
Mai Tran,2016-04,Blue,A Tran
Nia Oduya,2015-02,Blue,B Oduya
Uli Oduya,someday,Blue,
"""
PAPER = """\
DATE,CHILD,DRILL,SURFACE,VALUE,SUPPORT,FAULTS,COACH
2026-02-24,Mai Tran,"Wall shrugs, leaning",Air floor,9,,,Omar
2026-02-24,Nobody,"Wall shrugs, leaning",Air floor,9,,,Omar
"""
PLACED = "Seen on the first evening"
PAUSED = "Fever"
TABLET = "Tablet with the blue case"
PIN = "490273"
HOLIDAY = "Spring break"
CLEARED_BY = "Dr Voss"
HAPPENED = "The left foot slid"
# Of Mai: written down, again, and added to; of Ilse: logged on the floor.
INCIDENT, FALL = uuid.UUID(int=1), uuid.UUID(int=2)
# Of Mai: a fall without pain, and a note about it that was given.
FELL_TOO, GIVEN = uuid.UUID(int=3), uuid.UUID(int=4)
# Omar's: twelve figures to grade, and twelve that were graded.
TWELVE, GRADED = uuid.UUID(int=5), uuid.UUID(int=6)
SHOW = "Lanterns by night"
WROTE = "She held on to the edge"
TWICE = "Ilse Brandt"
# In the letter about Mai.
WORKED_ON = Sentence("In the last four weeks Mai worked on this:")
UNSORTED, UNKNOWN = "To be sorted 1", "Child not known (1f4b)"


@dataclass(frozen=True)
class Site:
    """The cast with a record, and one object for every kind of address.

    The drafts are Petra's: ``new`` waits for its confirmation, ``done`` was confirmed.
    """

    cast: Cast
    red_meeting: Meeting
    drafts: dict[str, str]
    tablet: Tablet
    # What the tablet's cookie holds.
    secret: str
    # Came back after a restore; nobody has said yet who and which they are.
    unknown: Child
    unsorted: ClassGroup
    # Of a second record of Ilse's.
    merge: Merge
    # Mai and Ilse, said to be two children.
    two: NotDouble
    holiday: Holiday
    # A turn of Rosa's that came from the blue class.
    refused: RejectedLine
    # The blue class's, in a show to come.
    number: ShowNumber
    # Petra's: Mai's letter is printed, Ilse's left out, and two are still to come.
    run: LetterRun


def build(cast: Cast, log: Logged) -> Site:
    """Mai was placed and is for review; Ilse was placed, met a stop sign, hurts and is paused;
    Rosa, of the other class, has a few turns, and her family
    has not been asked about hands. Call it with the clock at EVENING."""
    _record_of_mai(cast, log)
    _record_of_ilse(cast, log)
    log(cast.rosa, "wall-shrugs", [5, 6], by=cast.ines)
    _incidents(cast)
    forget_answers(cast.rosa)
    red, _ = Meeting.objects.get_or_create(group=cast.red, date=TODAY, starts_at=cast.red.starts_at)
    petra = Client()
    petra.force_login(cast.petra)
    drafts = {
        f"{kind}-{state}": _draft(petra, kind, text, confirmed=state == "done")
        for kind, text in (("roster", ROSTER), ("paper", PAPER))
        for state in ("done", "new")
    }
    tablet, secret = _tablet_of_the_hall(cast)
    unsorted = make_class(UNSORTED, cast.hall)
    ClassGroup.objects.filter(pk=unsorted.pk).update(to_be_sorted=True)
    unknown = Child.objects.create(name=UNKNOWN, name_key=fold_name(UNKNOWN))
    unknown.classes.set([unsorted])
    twice = Child.objects.create(
        name=TWICE, name_key=fold_name(TWICE), birth_year=2015, birth_month=10
    )
    merged = merge(twice, cast.ilse, cast.petra, EVENING)
    two = NotDouble.objects.create(one=cast.mai, other=cast.ilse, by=cast.petra, at=EVENING)
    day = TODAY + datetime.timedelta(days=40)
    about = {"first_day": day, "last_day": day}
    holiday = Holiday.objects.create(location=cast.hall, name=HOLIDAY, **about)
    _hour(cast)
    _twelve(cast)
    _stations_taken(cast, red)
    Erasure.objects.create(child=cast.mai, by=cast.petra, at=EVENING)
    made = unknown, unsorted, merged, two, holiday, _refused_line(cast), _number(cast), _run(cast)
    return Site(cast, red, drafts, tablet, secret, *made)


def _run(cast: Cast) -> LetterRun:
    """Mai's letter was corrected, and handed over; the next of Ilse's is prepared."""
    about = {"child": cast.mai, "day": TODAY, "file": EMPTY_PDF, "at": EVENING}
    first = PrintedLetter.objects.create(by=cast.omar, own=WROTE, **about)
    letter = PrintedLetter.objects.create(by=cast.petra, replaces=first, **about)
    LetterGiven.objects.create(letter=letter, how="handed", on=TODAY, by=cast.omar, at=EVENING)
    LetterDraft.objects.create(
        child=cast.ilse, own=WROTE, held_back=WROTE, by=cast.omar, at=EVENING
    )
    run = LetterRun.objects.create(by=cast.petra, at=EVENING)
    rows = ((cast.mai, letter, ""), (cast.ilse, None, WROTE), (cast.ilse, None, ""))
    for place, (child, printed, why) in enumerate(rows):
        LetterInRun.objects.create(run=run, place=place, child=child, letter=printed, left_out=why)
    return run


def _printed(site: Site) -> str:
    """The letter about Mai that was corrected."""
    return str(PrintedLetter.objects.filter(child=site.cast.mai, replaces=None).earliest("pk").uuid)


def _incidents(cast: Cast) -> None:
    about = {"day": TODAY, "by": cast.omar, "at": EVENING}
    texts = {"mats": HAPPENED, "what": HAPPENED, "first_aid": HAPPENED, "hurt": "wrist"}
    accounts = [
        IncidentAccount.objects.create(child=cast.mai, start=INCIDENT, kind=kind, **texts, **about)
        for kind in ("other", "fall")
    ]
    IncidentAddition.objects.create(account=accounts[0], text=HAPPENED, by=cast.petra, at=EVENING)
    about |= {"meeting": cast.meeting, "received_at": EVENING, "digest": "0"}
    Fell.objects.create(id=FALL, child=cast.ilse, **about)
    Fell.objects.create(id=FELL_TOO, child=cast.mai, **about)
    told = Told.objects.create(id=GIVEN, child=cast.mai, about="fall", whom=HAPPENED, **about)
    DoorNote.objects.create(
        id=GIVEN, told=told, kind="fall", start=FELL_TOO, given_to=HAPPENED, words=HAPPENED
    )


def _number(cast: Cast) -> ShowNumber:
    """Somebody recommends a yes for Mai; Ilse was given one, and is paused."""
    about = {"by": cast.petra, "at": EVENING, "name": SHOW}
    day = TODAY + datetime.timedelta(days=20)
    floor = Surface.objects.get(key="bare-stage")
    show = Show.objects.create(location=cast.hall, on=day, surface=floor, shoes=SHOW, **about)
    drill = Drill.objects.get(key="walkover-in-dance")
    number = ShowNumber.objects.create(show=show, group=cast.blue, drill=drill, easy=SHOW, **about)
    made = {"number": number, "by": cast.luis, "at": EVENING, "day": TODAY}
    ShowEntry.objects.create(child=cast.mai, kind="recommend", **made)
    asked = ShowEntry.objects.create(child=cast.ilse, kind="recommend", **made)
    ShowEntry.objects.create(child=cast.ilse, kind="yes", answers=asked, **made)
    return number


def _twelve(cast: Cast) -> None:
    """Omar is to grade twelve figures, and has graded twelve before; Petra gave a second grade."""
    ladder = LadderVersion.objects.get()
    about = {"by": cast.omar, "ladder": ladder, "rubric": "sit", "seed": 7, "at": EVENING}
    Twelve.objects.create(uuid=TWELVE, **about)
    graded = Twelve.objects.create(uuid=GRADED, **about)
    TwelveAnswers.objects.create(twelve=graded, grades=[0, 1, 2, 3] * 3, at=EVENING)
    turn = Attempt.objects.filter(drill__key="bridge-line").latest("pk")
    SecondGrade.objects.create(attempt=turn, by=cast.petra, value=3, at=EVENING)


def _hour(cast: Cast) -> None:
    """Mai does six turns this evening, before Omar and Luis."""
    HourChild.objects.create(
        meeting=cast.meeting, child=cast.mai, drill=Drill.objects.get(key="back-walkover"),
        surface=Surface.objects.get(key="sprung-dance-floor"), support=1, first=cast.omar,
        second=cast.luis, by=cast.petra, at=EVENING,
    )  # fmt: skip


def _stations_taken(cast: Cast, meeting: Meeting) -> None:
    """Of the red class: Rosa at two stations, one of which she did, and Ines beside; on a screen in
    the hall as well."""
    WallScreen.objects.create(hall=cast.hall, wanted=True, by=cast.petra, at=EVENING)
    about = {"rotations": 2, "minutes": 8, "start": 0, "by": cast.ines, "at": EVENING}
    plan = StationPlan.objects.create(meeting=meeting, **about)
    people = ((0, "wall-shrugs", {"child": cast.rosa}), (1, "hollow-hold", {"child": cast.rosa}))
    for rotation, key, who in (*people, (0, "wall-shrugs", {"adult": cast.ines})):
        drill = Drill.objects.get(key=key)
        StationPlace.objects.create(
            plan=plan, rotation=rotation, station=key, drill=drill, spotters=0, **who
        )


def _refused_line(cast: Cast) -> RejectedLine:
    sent = {"kind": "turn", "child": str(cast.rosa.uuid), "drill": "log-roll", "clean": True}
    about = {"id": str(time_ordered_id(EVENING, 77)), "at": EVENING.isoformat(), "support": 3}
    (answer,) = take_lines(
        cast.meeting, cast.omar, "t", EVENING, [sent | about | {"surface": "sprung-dance-floor"}],
        SCHEMA, EVENING,
    )  # fmt: skip
    assert answer.code == "not-in-class"
    return RejectedLine.objects.get()


def _tablet_of_the_hall(cast: Cast) -> tuple[Tablet, str]:
    """Omar, Petra and Tam have a PIN; Tam has mistyped it on another tablet and must wait."""
    for staff in (cast.omar, cast.petra, cast.tam):
        set_pin(staff, PIN, EVENING)
    other, _ = enrol(f"{TABLET} 2", cast.hall, cast.petra, EVENING)
    for _each in range(FREE):
        begin(cast.tam, other, EVENING)
    return enrol(TABLET, cast.hall, cast.petra, EVENING)


def _record_of_mai(cast: Cast, log: Logged) -> None:
    _place(cast, cast.mai, 3)
    for weeks in range(6, 0, -1):
        day = TODAY - datetime.timedelta(days=7 * weeks)
        log(cast.mai, "back-walkover", "11111", day=day, support=1)
        log(cast.mai, "back-walkover", "111", day=day, support=1, by=cast.petra)
        log(cast.mai, "bridge-line", [2, 3], day=day)
        log(cast.mai, "hollow-hold", [20 + weeks], day=day)
    log(cast.mai, "back-walkover", "10", support=1, faults=("low-back-only",))


def _record_of_ilse(cast: Cast, log: Logged) -> None:
    _place(cast, cast.ilse, 6)
    for weeks in (4, 3, 2):
        day = TODAY - datetime.timedelta(days=7 * weeks)
        log(cast.ilse, "handspring", "110", day=day, faults=("arms-give",))
    Pain.objects.create(
        id=time_ordered_id(EVENING),
        child=cast.ilse,
        meeting=cast.meeting,
        place="wrist",
        day=TODAY,
        at=EVENING,
        by=cast.omar,
        received_at=EVENING,
        digest="0",
    )
    about = {"day": TODAY, "at": EVENING, "by": cast.petra}
    knock = HeadKnock.objects.create(
        id=time_ordered_id(EVENING, 8), child=cast.ilse, on=TODAY, received_at=EVENING, digest="0",
        **about,
    )  # fmt: skip
    Clearance.objects.create(knock=knock, on=TODAY, cleared_by=CLEARED_BY, **about)
    Pause.objects.create(child=cast.ilse, reason=PAUSED, by=cast.omar, at=EVENING, day=TODAY)


def _place(cast: Cast, child: Child, stage: int) -> None:
    day = TODAY - datetime.timedelta(days=60)
    Placing.objects.create(
        child=child,
        stage=stage,
        surface=Surface.objects.get(key="sprung-dance-floor"),
        reason=PLACED,
        by=cast.petra,
        at=datetime.datetime.combine(day, datetime.time(17), datetime.UTC),
        day=day,
        ladder=LadderVersion.objects.get(),
    )


def upload(text: str) -> SimpleUploadedFile:
    return SimpleUploadedFile("3.csv", text.encode(), content_type="text/csv")


def _draft(client: Client, kind: str, text: str, *, confirmed: bool) -> str:
    """The draft's id. The file goes in through the page, as in the real thing."""
    preview = client.post(f"/{kind}", {"file": upload(text)})["Location"]
    if confirmed:
        shown = client.get(preview).context["confirm"].initial
        client.post(f"{preview}/confirm", shown)
    return preview.rsplit("/", 1)[1]


def patterns(resolver: URLResolver | None = None) -> Iterator[URLPattern]:
    for each in (resolver or get_resolver()).url_patterns:
        if isinstance(each, URLResolver):
            yield from patterns(each)
        else:
            yield each


def names() -> list[str]:
    """The name of every address."""
    return [pattern.name or str(pattern.pattern) for pattern in patterns()]


def _evening(group: ClassGroup) -> str:
    return f"/classes/{group.uuid}/evenings/{TODAY + datetime.timedelta(days=7)}"


def addresses(site: Site) -> dict[str, str]:
    """One address for every name: of the blue class, of Mai, of Petra's drafts."""
    mai, meeting = site.cast.mai.uuid, site.cast.meeting.uuid
    roster, paper = site.drafts["roster-new"], site.drafts["paper-new"]
    return {
        "sign-in": "/sign-in",
        "health": "/health",
        "sign-out": "/sign-out",
        "tonight": "/",
        "open-meeting": f"/classes/{site.cast.blue.uuid}/meet",
        "classes": "/classes",
        "class-add": "/classes/add",
        "holiday-add": "/classes/holidays",
        "holiday-end": "/classes/holidays/end",
        **{
            f"class-{verb}": f"/classes/{site.cast.blue.uuid}/{verb}"
            for verb in ("plan", "change", "move")
        },
        "evening": _evening(site.cast.blue),
        **{
            f"evening-{verb}": f"{_evening(site.cast.blue)}/{verb}"
            for verb in ("move", "cancel", "stand-in", "visit")
        },
        "evening-visit-end": f"{_evening(site.cast.blue)}/visit/end",
        "halls": "/halls",
        "hall-add": "/halls/add",
        "hall-confirm": "/halls/confirm",
        "hall-equipment": "/halls/equipment",
        "hall-wall": "/halls/wall",
        "hall-pictures": "/halls/pictures",
        "restore-looked-through": "/restored",
        "staff": "/staff",
        "staff-end": "/staff/end",
        "staff-invite": "/staff/invite",
        "staff-member": f"/staff/{site.cast.omar.uuid}",
        **{
            f"staff-{verb}": f"/staff/{site.cast.omar.uuid}/{verb}"
            for verb in ("change", "papers", "link", "pin", "back")
        },
        "new-password": "/new-password",
        "sorting": "/sorting",
        "child-known": f"/sorting/children/{site.unknown.uuid}",
        "class-known": f"/sorting/classes/{site.unsorted.uuid}",
        "doubles": "/doubles",
        "same-as": f"/children/{mai}/same-as",
        "merge": f"/children/{site.unknown.uuid}/same-as/{mai}",
        "two-children": f"/children/{site.unknown.uuid}/same-as/{mai}/two",
        "doubles-again": f"/doubles/{site.two.uuid}/again",
        "merge-undo": f"/merges/{site.merge.uuid}/undo",
        "roster-import": "/roster",
        "roster-lately": "/roster/lately",
        "roster-undo": f"/roster/undo/{BroughtIn.objects.get(kind='roster').uuid}",
        "roster-undone": f"/roster/undo/{BroughtIn.objects.get(kind='roster').uuid}/now",
        "paper-lately": "/paper/lately",
        "paper-undo": f"/paper/undo/{BroughtIn.objects.get(kind='attempts').uuid}",
        "paper-undone": f"/paper/undo/{BroughtIn.objects.get(kind='attempts').uuid}/now",
        "roster-preview": f"/roster/{roster}",
        "roster-options": f"/roster/{roster}/options",
        "roster-confirm": f"/roster/{roster}/confirm",
        "roster-refused": f"/roster/{roster}/left-out",
        "paper-import": "/paper",
        "paper-preview": f"/paper/{paper}",
        "paper-options": f"/paper/{paper}/options",
        "paper-confirm": f"/paper/{paper}/confirm",
        "paper-refused": f"/paper/{paper}/left-out",
        "outbox-file": "/outbox-file",
        "refused-lines": "/refused-lines",
        "refused-line": f"/refused-lines/{site.refused.uuid}",
        "refused-line-log": f"/refused-lines/{site.refused.uuid}/log",
        "refused-line-strike": f"/refused-lines/{site.refused.uuid}/strike",
        "floor-start": "/floor/",
        "floor-shell": "/floor/shell",
        "floor-words": "/floor/words",
        "floor-worker": "/floor/sw.js",
        "floor-manifest": "/floor/manifest.webmanifest",
        "floor-notes": f"/floor/{meeting}/notes",
        "ready-notes": "/notes",
        "floor-key": "/floor/key",
        "floor": f"/floor/{meeting}",
        "floor-pack": f"/floor/{meeting}/pack",
        "floor-search": f"/floor/{meeting}/search",
        "floor-visit": f"/floor/{meeting}/visit",
        "floor-new-child": f"/floor/{meeting}/new-child",
        "floor-since": f"/floor/{meeting}/since",
        "floor-attempts": f"/floor/{meeting}/attempts",
        "class": f"/classes/{site.cast.blue.uuid}",
        "review": "/review",
        "everyone": "/review/all",
        "review-next": f"/review/after/{mai}",
        "review-logs": "/review/logs",
        "untold": "/untold",
        "own-turns": "/confirm",
        "late-turns": "/review/late",
        "desk": "/desk",
        "evidence-hour": "/evidence-hour",
        "hour-sheet": f"/evidence-hour/{meeting}",
        "september": "/september",
        "september-sign": f"/september/{mai}",
        "term-end": "/term-end",
        "eyes": "/eyes",
        "eyes-twelve": f"/eyes/{TWELVE}",
        "eyes-agreement": "/eyes/agreement",
        "second-grade": f"/floor/{meeting}/second",
        "causes": "/causes",
        "class-causes": f"/classes/{site.cast.blue.uuid}/causes",
        "programme": "/programme",
        "newcomers": "/newcomers",
        "child": f"/children/{mai}",
        "child-record": f"/children/{mai}/record",
        "record-file": f"/children/{mai}/record/file",
        "audit": "/audit",
        "sign-ins": "/sign-ins",
        "sign-ins-end": "/sign-ins/end",
        "erasures": "/erasures",
        "erase-ask": f"/children/{mai}/erase",
        **{
            f"erase-{verb}": f"/children/{mai}/erase/{Erasure.objects.get().uuid}/{verb}"
            for verb in ("yes", "take-back")
        },
        "shows": "/shows",
        "show-add": "/shows/add",
        "show": f"/shows/{site.number.show.uuid}",
        "show-number": f"/shows/{site.number.show.uuid}/number",
        "show-wings": f"/shows/numbers/{site.number.uuid}/wings",
        "show-run-through": f"/shows/numbers/{site.number.uuid}/run-through",
        "show-child": f"/shows/numbers/{site.number.uuid}/{mai}",
        **{
            f"show-{verb}": f"/shows/numbers/{site.number.uuid}/{mai}/{verb}"
            for verb in ("recommend", "sign", "put", "today")
        },
        "spotters": "/spotters",
        "spotter-add": "/spotters/add",
        "spotter-youngest": "/spotters/youngest",
        "spotter-numbers": "/spotters/numbers",
        "stations": f"/stations/{meeting}",
        "stations-done": f"/stations/{meeting}/done",
        "stations-take": f"/stations/{meeting}/take",
        "stations-wall": f"/stations/{meeting}/wall",
        "step": f"/children/{mai}/step",
        "place": f"/children/{mai}/place",
        "sore": f"/children/{mai}/sore",
        "told": f"/children/{mai}/told",
        "not-tonight": f"/children/{mai}/not-tonight",
        "elsewhere": f"/children/{mai}/elsewhere",
        "growing": f"/children/{mai}/growing",
        "head": f"/children/{mai}/head",
        "head-knock": f"/children/{mai}/head/knock",
        "head-symptom": f"/children/{mai}/head/symptom",
        "head-clearance": f"/children/{mai}/head/clearance",
        "head-step": f"/children/{mai}/head/step",
        "incidents": "/incidents",
        "incident": f"/children/{mai}/incidents/{INCIDENT}",
        "incident-account": f"/children/{mai}/incidents/{INCIDENT}/account",
        "incident-addition": f"/children/{mai}/incidents/{INCIDENT}/addition",
        "door-notes": f"/children/{mai}/door-notes",
        "door-note": f"/children/{mai}/door-notes/fall/{FELL_TOO}",
        "door-note-give": f"/children/{mai}/door-notes/fall/{FELL_TOO}/give",
        "door-note-given": f"/children/{mai}/door-notes/given/{GIVEN}",
        "pause": f"/children/{mai}/pause",
        "consent": f"/children/{mai}/consent",
        "child-pictures": f"/children/{mai}/pictures",
        "lift": f"/children/{mai}/lift",
        "evidence": f"/children/{mai}/evidence/4",
        "recommend": f"/children/{mai}/recommend/4",
        "sign": f"/children/{mai}/sign/4",
        "send-back": f"/children/{mai}/send-back/4",
        "close-stage": f"/children/{mai}/close/4",
        "exception": f"/children/{mai}/exception/6",
        "drills": "/drills",
        "drill": "/drills/handspring",
        "station-cards": "/station-cards",
        "station-cards-print": "/station-cards/print",
        "fault-map": "/fault-map",
        "fault": "/fault-map/squats",
        "fault-save": "/fault-map/squats/save",
        "gates": "/gates",
        "gate-versions": "/gates/versions",
        "gate": "/gates/4.back-walkover",
        "gate-save": "/gates/save/4.back-walkover",
        "ladder-waiting": "/gates/waiting",
        "ladder-yes": f"/gates/waiting/{meeting}/yes",
        "ladder-take-back": f"/gates/waiting/{meeting}/take-back",
        "letter-languages": "/letters/languages",
        "letter-language-read": "/letters/languages/read",
        "letter": f"/children/{mai}/letter",
        "letter-rests-on": f"/children/{mai}/letter/rests-on/{WORKED_ON.key}",
        "letter-prepare": f"/children/{mai}/letter/prepare",
        "letter-pdf": f"/children/{mai}/letter.pdf",
        "kept-letters": f"/children/{mai}/letters",
        "kept-letter": f"/children/{mai}/letters/{_printed(site)}.pdf",
        "letter-given": f"/children/{mai}/letters/{_printed(site)}/given",
        "letters": "/letters",
        "studio-letters": "/letters/studio",
        "class-letters": f"/letters/classes/{site.cast.blue.uuid}",
        "letter-run": f"/letters/runs/{site.run.uuid}",
        "letter-run-on": f"/letters/runs/{site.run.uuid}/on",
        "letter-run-pdf": f"/letters/runs/{site.run.uuid}.pdf",
        "letter-run-zip": f"/letters/runs/{site.run.uuid}.zip",
        "home-sheet": f"/children/{mai}/home-sheet",
        "class-sheet": f"/classes/{site.cast.blue.uuid}/sheet",
        "tablets": "/tablets",
        "tablet-enrol": "/tablets/enrol",
        "tablet-withdraw": f"/tablets/{site.tablet.uuid}/withdraw",
        "tablet-unlock": f"/tablets/{site.tablet.uuid}/unlock",
        "children": "/children",
        "child-add": "/children/add",
        "child-facts": f"/children/{mai}/facts",
        "child-join": f"/children/{mai}/join",
        "child-family": f"/children/{mai}/family",
        "child-family-end": f"/children/{mai}/family/end",
        "child-leave-class": f"/children/{mai}/leave-class",
        "child-leave": f"/children/{mai}/leave",
        "child-back": f"/children/{mai}/back",
        "newcomer": f"/classes/{site.cast.blue.uuid}/newcomer",
        "season": "/season",
        "season-sheet": f"/season/{site.cast.blue.uuid}",
        "season-slips": f"/season/{site.cast.blue.uuid}/slips",
        "consents": "/consents",
        "consent-slips": "/consents/slips",
        "pin": "/pin",
        "change-over": "/change-over",
    }


@dataclass(frozen=True)
class Visit:
    """A page to look at: what is asked for, by whom (None: nobody), the status that comes,
    the secret of the tablet that it is asked for from, and what the session holds."""

    name: str
    address: str
    by: Staff | None
    status: int = 200
    post: dict[str, object] | None = field(default=None)
    tablet: str = ""
    session: dict[str, object] = field(default_factory=dict)

    def made(self) -> "Client":
        client = Client(raise_request_exception=False)
        if self.tablet:
            client.cookies[COOKIE] = self.tablet
        if self.by is not None:
            client.force_login(self.by)
        if self.session:
            session = client.session
            session.update(self.session)
            session.save()
        return client


def _stations(site: Site) -> str:
    """With something of each kind settled by hand."""
    mai, at = site.cast.mai.uuid, addresses(site)["stations"]
    return f"{at}?lock={mai}~hollow-hold~1&ban={mai}~arch-hold~2&here={site.cast.ilse.uuid}~2~3"


def visits(site: Site) -> list[Visit]:
    """Every page that answers with HTML, in every state that has words of its own."""
    cast, at = site.cast, addresses(site)
    mai, ilse, rosa = cast.mai.uuid, cast.ilse.uuid, cast.rosa.uuid
    who = str(cast.omar.uuid)
    return [
        Visit("sign-in", "/sign-in", None),
        Visit("sign-in, refused", "/sign-in", None, 422, {"username": "x", "password": "y"}),
        Visit("sign-in, empty", "/sign-in", None, 422, {"username": ""}),
        Visit("tonight, assistant", "/", cast.tam),
        Visit("tonight, coach", "/", cast.omar),
        Visit("tonight, director", "/", cast.petra),
        Visit("tonight, another day", "/", cast.dora),
        Visit("classes", "/classes", cast.petra),
        Visit("classes, coach", "/classes", cast.omar),
        Visit("class-add", "/classes/add", cast.petra),
        Visit("class-add, nothing said", "/classes/add", cast.petra, 422, {"name": ""}),
        Visit("holiday-add, no day", at["holiday-add"], cast.petra, 422, {"name": "Easter"}),
        Visit("class-plan", at["class-plan"], cast.petra),
        Visit("class-plan, coach", at["class-plan"], cast.omar),
        Visit("class-change, no name", at["class-change"], cast.petra, 422, {"name": ""}),
        Visit("class-move, no day", at["class-move"], cast.petra, 422, {"from_day": "May"}),
        Visit("evening", at["evening"], cast.petra),
        Visit("evening, coach", at["evening"], cast.omar),
        Visit("evening-move, no day", at["evening-move"], cast.petra, 422, {"day": "May"}),
        Visit("evening-cancel, changed", at["evening-cancel"], cast.petra, 409, {"seen": "x"}),
        Visit("evening-stand-in, not seen", at["evening-stand-in"], cast.omar, 422, {"seen": ""}),
        Visit("evening-visit, nobody", at["evening-visit"], cast.petra, 422, {"child": ""}),
        Visit("halls", "/halls", cast.petra),
        Visit("child-record, asked", at["child-record"], cast.petra),
        Visit("child-record, another", f"/children/{ilse}/record", cast.luis),
        Visit("record-file, neither", at["record-file"], cast.petra, 422, {"kind": "x"}),
        Visit("erase-yes, not sure", at["erase-yes"], cast.luis, 422, {"sure": ""}),
        Visit("audit", "/audit", cast.petra),
        Visit("audit, none", "/audit?kind=strike", cast.dora),
        Visit("audit, no day", "/audit?day=May", cast.petra, 422),
        Visit("sign-ins", "/sign-ins", cast.petra),
        Visit("sign-ins, one's own", "/sign-ins", cast.tam),
        Visit("sign-ins-end, nobody", "/sign-ins/end", cast.petra, 422, {"who": ""}),
        Visit("erasures", "/erasures", cast.luis),
        Visit("erasures, none", "/erasures", cast.dora),
        Visit("sorting", "/sorting", cast.petra),
        Visit("doubles", "/doubles", cast.petra),
        Visit("doubles, none", "/doubles", cast.dora),
        Visit("same child as", at["same-as"], cast.petra),
        Visit("two records", at["merge"], cast.petra),
        Visit(
            "two records of one child",
            f"/children/{cast.mai.uuid}/same-as/{cast.mai.uuid}",
            cast.petra,
            409,
        ),
        Visit("sorting, nothing", "/sorting", cast.dora),
        Visit("child-known, refused", at["child-known"], cast.petra, 422, {"born": "May"}),
        Visit("class-known, refused", at["class-known"], cast.petra, 422, {"name": ""}),
        Visit("halls, not confirmed", "/halls", cast.dora),
        Visit(
            "hall-confirm, no number",
            at["hall-confirm"],
            cast.petra,
            422,
            {"hall": cast.hall.pk, "emergency_number": "call"},
        ),
        Visit("hall-add, nothing said", at["hall-add"], cast.petra, 422, {"name": ""}),
        Visit("hall-equipment", at["hall-equipment"], cast.petra),
        Visit(
            "hall-equipment, wrong",
            at["hall-equipment"],
            cast.petra,
            422,
            {"hall": cast.hall.pk, "lane": "-1"},
        ),
        Visit("hall-wall, unread", at["hall-wall"], cast.petra, 422, {"wanted": "x"}),
        Visit("staff", "/staff", cast.petra),
        Visit("staff-end, no day", "/staff/end", cast.petra, 422, {"who": cast.omar.pk}),
        Visit("staff-invite", "/staff/invite", cast.petra),
        Visit("staff-invite, nothing said", "/staff/invite", cast.petra, 422, {"role": ""}),
        Visit("staff-member", at["staff-member"], cast.petra),
        Visit("staff-change, no name", at["staff-change"], cast.petra, 422, {"first_name": ""}),
        Visit("staff-papers, no day", at["staff-papers"], cast.petra, 422, {"check": "May"}),
        Visit("staff-link", at["staff-link"], cast.petra, 200, {"x": ""}),
        Visit("new-password", "/new-password", None),
        Visit("new-password, refused", "/new-password", None, 422, {"code": "x"}),
        Visit("roster-import", "/roster", cast.petra),
        Visit("roster-import, no file", "/roster", cast.petra, 422, {"file": ""}),
        Visit("roster-preview", at["roster-preview"], cast.petra),
        Visit("roster-lately", "/roster/lately", cast.petra),
        Visit("roster-undo", at["roster-undo"], cast.petra),
        Visit("paper-lately", "/paper/lately", cast.petra),
        Visit("paper-undo", at["paper-undo"], cast.petra),
        Visit("roster, done", f"/roster/{site.drafts['roster-done']}", cast.petra),
        Visit("paper-import", "/paper", cast.petra),
        Visit("paper-import, no file", "/paper", cast.petra, 422, {"file": ""}),
        Visit("paper-preview", at["paper-preview"], cast.petra),
        Visit("paper, done", f"/paper/{site.drafts['paper-done']}", cast.petra),
        Visit("outbox-file", "/outbox-file", cast.petra),
        Visit("outbox-file, brought in", "/outbox-file", cast.petra, session=_brought_in(cast)),
        Visit("outbox-file, no file", "/outbox-file", cast.petra, 422, {"file": ""}),
        Visit("refused-lines", "/refused-lines", cast.petra),
        Visit("refused-lines, none", "/refused-lines", cast.dora),
        Visit("refused-line", at["refused-line"], cast.petra),
        Visit("refused-line, of nobody", at["refused-line-log"], cast.petra, 422, {"to": ""}),
        Visit(
            "refused-line, no reason", at["refused-line-strike"], cast.petra, 422, {"reason": ""}
        ),
        Visit("floor", at["floor"], cast.omar),
        Visit("floor, of no class", at["floor-start"], None),
        Visit("class", at["class"], cast.omar),
        Visit("class, nobody in it", f"/classes/{cast.far.uuid}", cast.dora),
        Visit("review, coach", "/review", cast.omar),
        Visit("review, director", "/review", cast.petra),
        Visit("review, nobody to see", "/review", cast.dora),
        Visit("review-logs, director", "/review/logs", cast.petra),
        Visit("own-turns, nothing waits", "/confirm", cast.omar),
        Visit("own-turns", "/confirm", cast.petra),
        Visit("own-turns, no list", "/confirm", cast.petra, 422, {"day": "x"}),
        Visit("late-turns, none", "/review/late", cast.dora),
        Visit("late-turns", "/review/late", cast.petra),
        Visit("late-turns, no list", "/review/late", cast.petra, 422, {"day": "x"}),
        Visit("all children, coach", "/review/all", cast.omar),
        Visit("all children, none of that state", "/review/all?state=open", cast.petra),
        Visit("desk", "/desk", cast.petra),
        Visit("ready-notes", "/notes", cast.petra),
        Visit("ready-notes, too long", "/notes", cast.petra, 422, {"texts": "0" * 61}),
        Visit("untold", "/untold", cast.petra),
        Visit("evidence-hour", "/evidence-hour", cast.petra),
        Visit("evidence-hour, grades soon", "/evidence-hour", cast.luis),
        Visit("evidence-hour, nobody chosen", "/evidence-hour", cast.petra, 422, {"first": ""}),
        Visit("hour-sheet", at["hour-sheet"], cast.omar),
        Visit("hour-sheet, to print", at["hour-sheet"], cast.petra),
        Visit("stations", at["stations"], cast.omar),
        Visit("stations, settled", _stations(site), cast.omar),
        Visit("stations-done, none taken", at["stations-done"], cast.omar),
        Visit("stations-done", f"/stations/{site.red_meeting.uuid}/done", cast.ines),
        Visit("stations, taken", f"/stations/{site.red_meeting.uuid}", cast.ines),
        Visit("stations-wall, none taken", at["stations-wall"], cast.tam),
        Visit("stations-wall", f"/stations/{site.red_meeting.uuid}/wall", cast.ines),
        Visit("stations-take, lost", at["stations-take"], cast.omar, 422, {"draft": "x"}),
        Visit("september", "/september", cast.petra),
        Visit("september, nobody", "/september", cast.dora),
        Visit("term-end", "/term-end", cast.petra),
        Visit("term-end, nothing said", "/term-end", cast.petra, 422, {"x": ""}),
        Visit("eyes", "/eyes", cast.omar),
        Visit("eyes-twelve", at["eyes-twelve"], cast.omar),
        Visit("eyes-twelve, none graded", at["eyes-twelve"], cast.omar, 422, {"x": ""}),
        Visit("eyes-twelve, graded", f"/eyes/{GRADED}", cast.omar),
        Visit("eyes-agreement", "/eyes/agreement", cast.petra),
        Visit("second-grade", at["second-grade"], cast.omar),
        Visit("second-grade, no turn", at["second-grade"], cast.omar, 409, {"x": ""}),
        Visit("causes", "/causes", cast.omar),
        Visit("causes of a class", f"/classes/{cast.blue.uuid}/causes", cast.omar),
        Visit("programme", "/programme", cast.petra),
        Visit("programme, nobody", "/programme", cast.dora),
        Visit("newcomers", "/newcomers", cast.petra),
        Visit("newcomers, nobody", "/newcomers", cast.dora),
        Visit("newcomers, nothing said", "/newcomers", cast.petra, 422, {"reason": ""}),
        Visit("child", at["child"], cast.omar),
        Visit("child, director", at["child"], cast.petra),
        Visit("child, paused", f"/children/{ilse}", cast.omar),
        Visit("child, paused, director", f"/children/{ilse}", cast.petra),
        Visit("child, little record", f"/children/{rosa}", cast.ines),
        *(
            Visit(f"child, stage {stage}", f"/children/{mai}?stage={stage}", cast.petra)
            for stage in (1, 2, 3, 5, 6, 7, 8, 9)
        ),
        Visit("place, nothing said", at["place"], cast.petra, 422, {"stage": ""}),
        Visit("growing, too long", at["growing"], cast.omar, 422, {"said_by": "x" * 81}),
        Visit("head, no knock", at["head"], cast.omar),
        Visit("head, nothing said", at["head-knock"], cast.petra, 422, {"on": ""}),
        Visit("head, on the way back", f"/children/{ilse}/head", cast.petra),
        Visit("incidents", "/incidents", cast.petra),
        Visit("incidents, an empty month", "/incidents?month=2025-12", cast.petra),
        Visit("incident", at["incident"], cast.omar),
        Visit("incident, from the floor", f"/children/{ilse}/incidents/{FALL}", cast.omar),
        Visit("incident, nothing said", at["incident-account"], cast.omar, 422, {"what": ""}),
        Visit("incident, nothing added", at["incident-addition"], cast.omar, 422, {"text": ""}),
        Visit("door-notes", at["door-notes"], cast.omar),
        Visit("door-notes, nothing to tell", f"/children/{rosa}/door-notes", cast.ines),
        Visit("door-note", at["door-note"], cast.omar),
        Visit("door-note, to nobody", at["door-note"], cast.omar, 422, {"adult": ""}),
        Visit(
            "door-note, to an adult",
            at["door-note"],
            cast.omar,
            200,
            {"token": str(GIVEN), "adult": "else", "other": HAPPENED},
        ),
        Visit("door-note-give, to nobody", at["door-note-give"], cast.omar, 422, {"adult": ""}),
        Visit("door-note-given", at["door-note-given"], cast.omar),
        Visit("elsewhere, nothing said", at["elsewhere"], cast.omar, 422, {"kind": ""}),
        Visit("told, nothing said", at["told"], cast.omar, 422, {"what": "fall"}),
        Visit("sore, nothing said", at["sore"], cast.omar, 422, {"place": "wrist"}),
        Visit("pause, nothing said", at["pause"], cast.omar, 422, {"reason": ""}),
        Visit("lift, nothing said", f"/children/{ilse}/lift", cast.petra, 422, {"reason": ""}),
        Visit("evidence", at["evidence"], cast.omar),
        Visit("evidence, recommender", at["evidence"], cast.luis),
        Visit("evidence, director", at["evidence"], cast.petra),
        Visit("evidence, paused", f"/children/{ilse}/evidence/6", cast.petra),
        Visit("evidence, exception", f"/children/{mai}/evidence/6", cast.petra),
        Visit("evidence, of a part", f"/children/{mai}/evidence/9/two-handsprings", cast.petra),
        Visit("evidence, little record", f"/children/{rosa}/evidence/4", cast.ines),
        Visit("recommend, nothing said", at["recommend"], cast.omar, 422, {"surface": ""}),
        Visit("sign, nothing said", at["sign"], cast.petra, 422, {"surface": ""}),
        Visit("send-back, nothing said", at["send-back"], cast.petra, 422, {"reason": ""}),
        Visit("close-stage, nothing said", at["close-stage"], cast.petra, 422, {"reason": ""}),
        Visit("exception, nothing said", at["exception"], cast.petra, 422, {"reason": ""}),
        Visit("home-sheet", at["home-sheet"], cast.omar),
        Visit("home-sheet, paused", f"/children/{ilse}/home-sheet", cast.omar),
        Visit("class-sheet", at["class-sheet"], cast.omar),
        Visit("station-cards", "/station-cards", cast.tam),
        Visit("station-cards-print, none", "/station-cards/print", cast.tam),
        Visit(
            "station-cards-print",
            "/station-cards/print?drill=handspring&drill=sit-fall",
            cast.tam,
        ),
        Visit("shows", "/shows", cast.petra),
        Visit("shows, none", "/shows", cast.dora),
        Visit("show-add, nothing said", "/shows/add", cast.petra, 422, {"shoes": ""}),
        Visit("show, director", at["show"], cast.petra),
        Visit("show, assistant", at["show"], cast.tam),
        Visit("show-number, nothing said", at["show-number"], cast.petra, 422, {"called": ""}),
        Visit("show-child", at["show-child"], cast.omar),
        Visit("show-child, director", at["show-child"], cast.petra),
        Visit("show-child, void", at["show-child"].replace(str(mai), str(ilse)), cast.petra),
        Visit("show-sign, not complete", at["show-sign"], cast.petra, 422, {"seen": ""}),
        Visit("spotters", "/spotters", cast.petra),
        Visit("spotter-add, nothing said", "/spotters/add", cast.petra, 422, {"age": ""}),
        Visit("spotter-youngest, no age", "/spotters/youngest", cast.petra, 422, {"years": "1"}),
        Visit("spotter-numbers, none", "/spotters/numbers", cast.petra, 422, {"usual": "0"}),
        Visit("drills", "/drills", cast.tam),
        Visit("drill", at["drill"], cast.tam),
        Visit("drill, graded", "/drills/sit-depth", cast.omar),
        Visit("drill, of no ladder", "/drills/somersault", cast.omar, 404),
        Visit("fault-map", "/fault-map", cast.tam),
        Visit("fault-map, director", "/fault-map", cast.petra),
        Visit("fault-map, of a skill", "/fault-map?drill=handspring", cast.omar),
        Visit("fault-map, of a lead-in", "/fault-map?drill=sit-depth", cast.omar),
        Visit("fault-map, of no ladder", "/fault-map?drill=somersault", cast.omar, 404),
        Visit("fault", at["fault"], cast.petra),
        Visit("fault-save, nothing said", at["fault-save"], cast.petra, 422, {"drill_1": ""}),
        Visit("gates", "/gates", cast.petra),
        Visit("gates, other classes", "/gates?a_week=0.5&turns=1", cast.petra),
        Visit("gates, wrong classes", "/gates?turns=99", cast.petra, 422),
        Visit("gates, a version", "/gates?version=1", cast.petra),
        Visit("gate-versions", "/gates/versions", cast.petra),
        Visit("gate", at["gate"], cast.petra),
        Visit("gate, practice", "/gates/practice?rate=70", cast.petra),
        Visit("gate, looser", f"{at['gate']}?certainty=50&a_week=2", cast.petra),
        Visit("gate, tighter", f"{at['gate']}?certainty=95&days=12", cast.petra),
        Visit("gate, from luck", f"{at['gate']}?how=luck&one_in=10", cast.petra),
        Visit("gate, by others", f"{at['gate']}?certainty=50", cast.dora),
        Visit(
            "gate, never so seldom",
            f"{at['gate']}?how=luck&stays=79&one_in=200&days=1&clean=1&rate=80",
            cast.petra,
        ),
        Visit("gate, wrong value", f"{at['gate']}?rate=20", cast.petra, 422),
        Visit("gate, refused", f"{at['gate']}?rate=50&certainty=60", cast.petra, 422),
        Visit("gate, a hold", "/gates/2.hollow-hold?at_least=20", cast.petra),
        Visit("gate, no stop sign", "/gates/4.clear?clean=3", cast.petra),
        Visit("gate, a count", "/gates/2.safe-fall?clean=4", cast.petra),
        Visit("ladder-waiting", "/gates/waiting", cast.petra),
        Visit("gate-save, nothing said", at["gate-save"], cast.petra, 422, {"certainty": "70"}),
        Visit("letter-languages", "/letters/languages", cast.petra),
        Visit("letter-languages, coach", "/letters/languages", cast.omar),
        Visit(
            "letter-language-read, nobody",
            "/letters/languages/read",
            cast.petra,
            422,
            {"reader": ""},
        ),
        Visit("letter", at["letter"], cast.omar),
        Visit("letter-rests-on", at["letter-rests-on"], cast.omar),
        Visit("letter-rests-on, not said", f"{at['letter']}/rests-on/0", cast.omar, 409),
        Visit("letter, paused", f"/children/{ilse}/letter", cast.petra),
        Visit("letter, little record", f"/children/{rosa}/letter", cast.ines),
        Visit("letter, too long", at["letter"], cast.omar, 422, {"own": "ξ" * 400}),
        Visit("letter, a coach's, of what hurts", f"/children/{ilse}/letter", cast.omar),
        Visit(
            "letter-pdf, not read yet", f"/children/{ilse}/letter.pdf", cast.omar, 422, {"own": ""}
        ),
        Visit("kept-letters", at["kept-letters"], cast.omar),
        Visit("kept-letters, none", f"/children/{rosa}/letters", cast.ines),
        Visit("letter-given, no day", at["letter-given"], cast.omar, 422, {"on": "May"}),
        Visit("letters", "/letters", cast.petra),
        Visit("letters, coach", "/letters", cast.omar),
        Visit("class-letters", at["class-letters"], cast.petra),
        Visit("class-letters, coach", at["class-letters"], cast.omar),
        Visit("class-letters, nobody", f"/letters/classes/{cast.far.uuid}", cast.dora),
        Visit("class-letters, nothing said", at["class-letters"], cast.petra, 422, {"do": "keep"}),
        Visit("letter-run", at["letter-run"], cast.petra),
        Visit("tablets", "/tablets", cast.petra, tablet=site.secret),
        Visit("tablets, none", "/tablets", cast.dora),
        Visit("tablet-enrol, no name", "/tablets/enrol", cast.petra, 422, {"name": ""}),
        Visit("children", "/children", cast.petra),
        Visit("children, looked for", "/children", cast.petra, 200, {"q": "mai"}),
        Visit("children, none fits", "/children", cast.petra, 200, {"q": "zzz"}),
        Visit("child-add", "/children/add", cast.petra),
        Visit("child-facts", at["child-facts"], cast.petra),
        Visit("child-family, nobody", at["child-family"], cast.petra, 422, {"family-staff": ""}),
        Visit("child-join, no class", at["child-join"], cast.petra, 422, {"join-day": ""}),
        Visit("season", "/season", cast.petra),
        Visit("season-sheet", at["season-sheet"], cast.petra),
        Visit("season-sheet, nobody in it", f"/season/{cast.far.uuid}", cast.dora),
        Visit("season-sheet, no day", at["season-sheet"], cast.petra, 422, {"seen_on": ""}),
        Visit("season-slips", at["season-slips"], cast.petra),
        Visit("consents", "/consents", cast.petra),
        Visit("consents, everybody answered", "/consents", cast.dora),
        Visit("consents, nobody marked", "/consents", cast.petra, 422, {"seen_by": ""}),
        Visit("consent-slips", "/consents/slips", cast.petra),
        Visit("consent-slips, none", "/consents/slips", cast.dora),
        Visit("child-pictures", at["child-pictures"], cast.omar),
        Visit("child-pictures, nothing said", at["child-pictures"], cast.omar, 422, {"answer": ""}),
        Visit("consent, nothing said", at["consent"], cast.omar, 422, {"answer": ""}),
        Visit("pin", "/pin", cast.petra),
        Visit("pin, none yet", "/pin", cast.ines),
        Visit("pin, nothing said", "/pin", cast.ines, 422, {"pin": ""}),
        Visit("pin, wrong", "/pin", cast.ines, 422, {"password": "x", "pin": "123456"}),
        Visit("sign-in on a tablet", "/sign-in", None, tablet=site.secret),
        Visit("change-over", "/change-over", cast.omar, tablet=site.secret),
        Visit("change-over, digits", f"/change-over?who={who}", None, tablet=site.secret),
        Visit(
            "change-over, wrong", "/change-over", None, 422, {"who": who, "pin": "1"}, site.secret
        ),
        Visit("not found", "/nowhere", cast.omar, 404),
        Visit("not found, signed out", "/nowhere", None, 404),
        Visit("not theirs", at["letter"], cast.ines, 404),
        Visit("refused", "/roster", cast.omar, 403),
        Visit("not understood", at["roster-confirm"], cast.petra, 400, {}),
    ]


def _brought_in(cast: Cast) -> dict[str, object]:
    """What is kept of a file from a tablet, with every reason and lines of other classes."""
    aside: dict[str, int] = dict.fromkeys([*REASONS, "bad-id"], 2)
    row = {"meeting": str(cast.meeting.uuid), "kept": 3, "had": 1, "aside": aside}
    return {RESULT: {"meetings": [row], "elsewhere": 2}}


def look(visit: Visit):
    """The answer to a visit."""
    client = visit.made()
    if visit.post is None:
        return client.get(visit.address)
    return client.post(visit.address, visit.post)
