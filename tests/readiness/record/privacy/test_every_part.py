"""The one list of tables that hold a child is whole: nothing of a child is left out of the file or
kept by erasing because somebody forgot to name it."""

import json

import pytest
from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import BinaryField, CharField, FileField, ForeignKey, TextField

from progression.models import RejectedLine, Strike
from readiness.record.privacy.export import whole_record
from readiness.record.privacy.parts import PARTS
from studio.models import Child, ImportDraft
from tests.support.cast import NOW
from tests.support.child_rows.whole_child import WORD, fill
from tests.support.pages import signed_in

pytestmark = pytest.mark.django_db

LISTED = {part.model for part in PARTS}
# Text of a listed table that stays, and why it says nothing of who the child was.
TEXT_THAT_STAYS = {
    "digest": "of a line or a reading",
    "text_digest": "of a letter",
    "kind": "a code",
    "stage": "a code of the ladder",
    "place": "a code of the ladder",
    "hurt": "a code of the ladder",
    "station": "a code of the ladder",
    "fault": "a code of the ladder",
    "about": "a code of the ladder",
    "code": "a code",
    "why": "a code",
    "how": "a code",
    "picture": "which drill was looked at, a code",
    "source": "a code",
    "less_reason": "a code",
    "awaits": "a code",
    "signature": "of a line",
    "device": "the name of a tablet",
}


def test_every_table_with_a_key_to_a_child_is_listed():
    with_a_key = {
        model
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.concrete_fields
        if isinstance(field, ForeignKey) and field.related_model is Child
    }
    assert with_a_key - LISTED == {Child}


def test_every_table_with_a_key_to_one_of_those_is_listed_too():
    """But for what is of many children: nothing of one stands there."""
    names = {
        model
        for model in apps.get_models()
        for field in model._meta.concrete_fields
        if isinstance(field, ForeignKey) and field.related_model in LISTED
    }
    assert names - LISTED == set()


def test_every_text_of_those_tables_goes_or_says_nothing_of_who_it_was():
    left = {
        (part.model.__name__, field.name)
        for part in PARTS
        if not part.goes
        for field in part.model._meta.concrete_fields
        if isinstance(field, CharField | TextField | BinaryField)
        if field.name not in (*part.words, *TEXT_THAT_STAYS)
    }
    assert left == set()


def test_no_table_has_a_picture():
    """Files are kept of printed letters; what is uploaded waits to be read, and is a table."""
    held = {
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        for field in model._meta.concrete_fields
        if isinstance(field, BinaryField | FileField)
    }
    assert held == {"readiness.PrintedLetter.file", "studio.ImportDraft.data"}


@pytest.mark.parametrize("address", ["/roster", "/paper", "/outbox-file"])
def test_a_picture_that_is_uploaded_is_refused_and_not_kept(cast, address):
    from django.core.files.uploadedfile import SimpleUploadedFile

    # The first bytes of any PNG (ISO/IEC 15948, 5.2), and some that are no text.
    picture = b"\x89PNG\r\n\x1a\n" + bytes(range(256))
    answer = signed_in(cast.petra).post(address, {"file": SimpleUploadedFile("a.csv", picture)})
    assert answer.status_code == 422
    assert not ImportDraft.objects.exists()
    assert not RejectedLine.objects.exists()


def test_the_file_has_a_row_of_every_table_and_every_word(cast, log):
    child = fill(cast, log)
    whole = json.loads(json.dumps(whole_record(child, cast.petra, NOW), cls=DjangoJSONEncoder))
    empty = [each["table"] for each in whole["parts"] if not each["rows"]]
    assert empty == [
        "studio.NotDouble", "progression.AttemptProof", "progression.Confirmation",
        "readiness.AttemptAngles", "readiness.SecondGrade", "readiness.Erasure",
    ]  # fmt: skip
    assert [row["name"] for row in whole["records"]] == [f"Mai {WORD}", f"May {WORD}"]
    turns = next(each for each in whole["parts"] if each["table"] == "progression.Attempt")
    assert len(turns["rows"]) == 5
    struck = next(each for each in whole["parts"] if each["table"] == "progression.Strike")
    assert [row["by"] for row in struck["rows"]] == [Strike.objects.get().by.called]
    (confidence,) = [each["table"] for each in whole["parts"] if each["in_confidence"]]
    assert confidence == "readiness.NotTonight"


def test_the_file_has_nothing_of_another_child(cast, log):
    fill(cast, log)
    log(cast.rosa, "log-roll", "1", by=cast.ines)
    whole = whole_record(cast.rosa, cast.petra, NOW)
    rows = {part["table"]: len(part["rows"]) for part in whole["parts"] if part["rows"]}
    assert rows == {
        "studio.SpottingConsent": 1, "studio.ClassGroup_children": 1, "readiness.DayTally": 1,
        "readiness.Standing": 1,
        "progression.Attempt": 1,
    }  # fmt: skip
    assert WORD not in json.dumps(whole, cls=DjangoJSONEncoder)
