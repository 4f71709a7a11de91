"""Help that came again, judged by the raw record in every language: what the demo has none of."""

import datetime

import pytest
import time_machine

from readiness.letters.letter import letter_facts, write_letter
from tests.support.cast import NOW, TODAY
from tests.support.letters.files import DAY
from tests.support.letters.judge import Judge
from tests.support.letters.lies import altered
from tests.support.letters.record import RawRecord
from tests.support.letters.table import LANGUAGES, Table

AWAY = datetime.timedelta(days=40)


def judged(cast, language, now):
    """The claims about help that came again, and the lies that could be told of them."""
    cast.mai.letter_language = language
    with time_machine.travel(now, tick=False):
        letter = write_letter(letter_facts(cast.mai, now), cast.omar)
        record = RawRecord(cast.mai, now.date())
        table = Table(language, record.content)
        judge = Judge(record, table)
        for section in letter.sections:
            if table.whole("headings", section.heading).kind == "more_help":
                for paragraph in section.paragraphs:
                    judge.judge_text("sentences", "more_help", paragraph)
        lies = [lie for claim in judge.claims for lie in altered(claim, record, table)]
        return judge, [lie.text for lie in lies if not lie.is_found(table)], len(lies)


def kinds(judge):
    return [claim.said.kind for claim in judge.claims]


@pytest.mark.parametrize("language", LANGUAGES)
def test_more_help_than_before(language, log, climbed):
    log(climbed.mai, "back-walkover", "0", day=TODAY - 3 * DAY, faults=("drops-in",))
    judge, missed, lies = judged(climbed, language, NOW)
    assert kinds(judge) == ["more_help", "for_now", "same_rule", "stays"]
    assert judge.objections == []
    assert missed == []
    assert lies > 8


@pytest.mark.parametrize("language", LANGUAGES)
def test_back_after_a_long_time(language, log, climbed):
    log(climbed.mai, "back-walkover", "11", day=TODAY - 7 * DAY)
    log(climbed.mai, "hollow-hold", [5.0], day=TODAY - 7 * DAY + AWAY, support=0)
    judge, missed, lies = judged(climbed, language, NOW + AWAY)
    assert kinds(judge)[:3] == ["back", "went_by", "for_now"]
    assert judge.objections == []
    assert missed == []
    assert lies > 8
