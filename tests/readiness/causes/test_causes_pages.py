"""The causes of a child, of a class and of all classes, against the raw log."""

import re
from collections import Counter
from datetime import timedelta
from html import unescape

import numpy as np
import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, Strike
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id

SKILL = "back-walkover"
# Each from another root: back line, arms and shoulders, shape.
BACK, ARMS, SHAPE = "low-back-only", "shoulders-off", "over-arched"


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


def text_of(client, who, address):
    client.force_login(who)
    answer = client.get(address)
    assert answer.status_code == 200
    words = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", unescape(words))


def child_page(client, cast, child=None):
    return text_of(client, cast.omar, f"/children/{(child or cast.mai).uuid}")


def class_page(client, cast):
    return text_of(client, cast.omar, f"/classes/{cast.blue.uuid}/causes")


def strike(cast, attempt):
    Strike.objects.create(
        id=time_ordered_id(NOW), attempt_id=attempt.pk, code="wrong-tap", by=cast.omar,
        at=NOW, received_at=NOW, digest="0",
    )  # fmt: skip


# --- a child ---------------------------------------------------------------------------


def test_a_child_without_marked_faults_has_no_causes(client, cast, log):
    log(cast.mai, SKILL, "1100")
    assert "No miss of the last twelve weeks has a fault marked." in child_page(client, cast)


def test_few_misses_are_said_to_be_too_few(client, cast, log):
    log(cast.mai, SKILL, "00", faults=(BACK,))
    said = child_page(client, cast)
    assert "Too few turns to tell at Back walkover (2)." in said
    assert "Do first" not in said


def test_the_sentence_is_what_the_raw_turns_say(client, cast, log, ladder_content):
    for back in (21, 14, 7, 0):
        day = TODAY - timedelta(days=back)
        log(cast.mai, SKILL, "0001", day=day, faults=(BACK,))
        log(cast.mai, SKILL, "0", day=day, support=2, faults=(ARMS, BACK))
    log(cast.mai, SKILL, "0", faults=(SHAPE,))
    log(cast.mai, SKILL, "00")
    log(cast.mai, SKILL, "0", day=TODAY - timedelta(days=84), faults=(SHAPE,))
    (struck,) = log(cast.mai, SKILL, "0", faults=(SHAPE,))
    strike(cast, struck)

    # Plain loops over the log, and a million draws of numpy for the largest share.
    turns = [
        each
        for each in Attempt.objects.select_related("drill")
        if each.drill.key == SKILL and each.pk != struck.pk and (TODAY - each.day).days < 84
    ]
    days = sorted({each.day for each in turns}, reverse=True)
    root_of = {fault["key"]: fault["root"] for fault in ladder_content["fault"]}
    weights = {strand["key"]: 0.0 for strand in ladder_content["strand"]}
    times = Counter()
    for each in turns:
        roots = {root_of[fault] for fault in each.faults}
        fade = 0.5 ** (days.index(each.day) / 8) * 0.5 ** ((TODAY - each.day).days / 84)
        for root in roots:
            weights[root] += {3: 0.5, 2: 0.75}.get(each.support, 1) * fade / len(roots)
        times.update(each.faults)
    alphas = 1 + np.array(list(weights.values()))
    drawn = np.random.default_rng(3).dirichlet(alphas, 1_000_000)
    share = alphas[list(weights).index("back-line")] / alphas.sum()
    assert np.mean(drawn.argmax(axis=1) == list(weights).index("back-line")) >= 0.8
    assert 0.45 < share < 0.55

    misses = [each for each in turns if each.clean is False]
    marked = sum(bool(each.faults) for each in misses)

    said = child_page(client, cast)
    assert "About half of Mai’s misses at Back walkover come from back line: " in said
    assert f"({times[BACK]})" in said
    assert f"Back line {round(100 * share)} in 100" in said
    low, high = np.quantile(drawn[:, list(weights).index("back-line")], [0.05, 0.95])
    shown = re.search(r"Back line \d+ in 100 (\d+) to (\d+) in 100", said)
    assert shown, said
    with_it = sum("back-line" in {root_of[fault] for fault in each.faults} for each in misses)
    assert f"in 100 · logged: {with_it} of {marked}" in said
    assert abs(int(shown[1]) - 100 * low) <= 1
    assert abs(int(shown[2]) - 100 * high) <= 1
    assert f"{len(misses)} missed of {len(turns)} turns in 12 weeks, {marked} with a fault" in said


def test_what_shrank_is_said_two_weeks_after_it_was_named(client, cast, log):
    for back in (42, 35, 28, 21):
        log(cast.mai, SKILL, "00001", day=TODAY - timedelta(days=back), support=1, faults=(BACK,))
    assert "Too few turns to say whether it has shrunk" not in child_page(client, cast)
    log(cast.mai, SKILL, "01", day=TODAY - timedelta(days=7), support=1, faults=(BACK,))
    said = child_page(client, cast)
    assert "back line: 16 of 20 turns. Since then 1 of 2 turns. Too few turns to say" in said
    log(cast.mai, SKILL, "1" * 10, support=1)
    said = child_page(client, cast)
    assert "back line: 16 of 20 turns. Since then 1 of 12 turns. It has shrunk." in said


def test_a_child_of_two_records_is_read_as_one(client, cast, log):
    twin = make_child("Mai Other", cast.blue)
    log(twin, SKILL, "0" * 8, support=1, faults=(BACK,))
    log(cast.mai, SKILL, "00", support=1, faults=(ARMS,))
    twin.merged_into = cast.mai
    twin.save()
    assert "10 missed of 10 turns in 12 weeks, 10 with a fault" in child_page(client, cast)


# --- a class ---------------------------------------------------------------------------


def test_what_half_of_the_line_missed_from_tonight(client, cast, log):
    others = [make_child(name, cast.blue) for name in ("Ada Ruz", "Ivo Teal", "Una Voss")]
    for child in (cast.mai, cast.ilse, *others[:2]):
        log(child, SKILL, "01", faults=(BACK,))
    log(others[2], SKILL, "11")
    log(others[2], "bridge-line", [2])
    said = class_page(client, cast)
    assert "Tonight Back walkover: 4 of 5 missed from back line: bends sharply" in said
    # The next evening it is not tonight's, and another drill's turns change nothing.
    with time_machine.travel(NOW + timedelta(days=1), tick=False):
        assert "Wednesday, 4 March Back walkover: 4 of 5" in class_page(client, cast)


def test_less_than_half_or_under_three_is_nobodys_line(client, cast, log):
    for child in (cast.mai, cast.ilse):
        log(child, SKILL, "0", faults=(BACK,))
    assert "Nothing that half of the line had in common." in class_page(client, cast)
    third = make_child("Ada Ruz", cast.blue)
    log(third, SKILL, "0", faults=(BACK,))
    assert "Back walkover: 3 of 3 missed" in class_page(client, cast)
    for name in ("Ivo Teal", "Una Voss", "Per Lund", "Kim Dray"):
        log(make_child(name, cast.blue), SKILL, "1")
    assert "Nothing that half of the line had in common." in class_page(client, cast)


def test_over_the_term_misses_are_counted_as_they_stand_in_the_log(client, cast, log):
    for back in (14, 7, 0):
        day = TODAY - timedelta(days=back)
        log(cast.mai, SKILL, "0000", day=day, support=1, faults=(BACK,))
        log(cast.ilse, SKILL, "0", day=day, faults=(BACK, ARMS), by=cast.petra)
    log(cast.ilse, SKILL, "00")
    said = class_page(client, cast)
    # Children, misses with a fault.
    assert "Back walkover 2 15 Back line 15 · Arms and shoulders 3 back line of 1 child;" in said
    assert "; of 1 child it cannot be told" in said
    assert "Omar 14 12 Petra 3 3" in said


def test_the_lead_ins_that_nobody_touched_are_named(client, cast, log):
    log(cast.mai, "hollow-hold", [12])
    log(cast.rosa, "arch-hold", [12])
    said = class_page(client, cast).partition("Not touched in twelve weeks")[2]
    assert "Arch hold" in said
    assert "Hollow hold" not in said
    # No skill, and nothing that is open to some only.
    assert "Back walkover" not in said
    assert "Tip over the barrel" not in said


def test_a_class_is_read_by_as_many_queries_however_many_children(client, cast, log):
    def queries():
        client.force_login(cast.omar)
        with CaptureQueriesContext(
            connection,
        ) as captured:
            client.get(f"/classes/{cast.blue.uuid}/causes")
        return len(captured)

    log(cast.mai, SKILL, "00", faults=(BACK,))
    few = queries()
    for at in range(8):
        log(make_child(f"Child {chr(65 + at)}", cast.blue), SKILL, "00", faults=(BACK,))
    assert queries() == few


# --- all classes -----------------------------------------------------------------------


def test_the_studios_handsprings_beside_what_coaches_say(client, cast, log):
    log(cast.mai, "handspring", "00", faults=("hips-over-feet",))
    log(cast.ilse, "handspring", "0", faults=("over-arched",))
    said = text_of(client, cast.omar, "/causes")
    assert "nine in ten" in said
    assert "of 3 faults marked at the handspring 2 point there" in said
    assert "Blue 3 The sit 2 · Shape 1" in said
    # On the map of faults too, for who sees children's records.
    assert "of 3 faults marked at the handspring 2 point" in text_of(
        client, cast.omar, "/fault-map"
    )
    assert "In this record" not in text_of(client, cast.tam, "/fault-map")
    # Another class's coach sees its own alone.
    assert "In this record no fault was marked" in text_of(client, cast.ines, "/causes")
