"""The page “Bring in a paper log”."""

import datetime
import re
import uuid

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from progression.models import Attempt, LadderVersion
from studio.models import ImportDraft
from tests.support.cast import NOW
from tests.support.guards import lifted

TEXT = (
    "date,child,drill,surface,value\n"
    "2026-02-03,Mai Tran,log-roll,wedge,clean\n"
    "2026-02-03,Mai Tran,log-roll,wedge,1/2\n"
    "2026-02-03,Mai Tran,log-roll,wedge,good\n"
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def petra(cast) -> Client:
    client = Client()
    client.force_login(cast.petra)
    return client


def upload(client: Client, data: bytes | str):
    raw = data if isinstance(data, bytes) else data.encode()
    return client.post("/paper", {"file": SimpleUploadedFile("log.csv", raw)})


def preview_of(client: Client, data: bytes | str) -> str:
    answer = upload(client, data)
    assert answer.status_code == 302, answer.content.decode()
    return answer["Location"]


def confirm_fields(page: str) -> dict[str, str]:
    return dict(re.findall(r'name="(token|shown)" value="([^"]+)"', page))


def confirm(client: Client, address: str, **more: str):
    page = client.get(address).content.decode()
    return client.post(f"{address}/confirm", confirm_fields(page) | more)


def test_a_log_is_shown_confirmed_and_its_result_shown(petra):
    address = preview_of(petra, TEXT)
    page = petra.get(address).content.decode()
    assert "3 turns would be added," in page
    assert "0 are in the log already," in page
    assert "1 line is left out so far." in page
    assert "Line 3: 1/2" in page
    assert "Mai Tran" in page
    assert not Attempt.objects.exists()
    answer = confirm(petra, address)
    assert (answer.status_code, answer["Location"]) == (302, address)
    assert Attempt.objects.count() == 3
    page = petra.get(address).content.decode()
    assert "Stored: 3 turns." in page
    assert "1 line was left out" in page
    assert bytes(ImportDraft.objects.get().data) == b""


def test_confirming_twice_stores_once_and_the_same_file_again_adds_nothing(petra):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    for _tap in range(2):
        assert petra.post(f"{address}/confirm", fields)["Location"] == address
    assert Attempt.objects.count() == 3
    page = petra.get(preview_of(petra, TEXT)).content.decode()
    assert "0 turns would be added," in page
    assert "3 are in the log already," in page
    assert re.search(r"<button[^>]*disabled>Bring in</button>", page)


def test_a_confirmation_without_token_is_refused_and_stores_nothing(petra):
    address = preview_of(petra, TEXT)
    assert petra.post(f"{address}/confirm", {}).status_code == 400
    assert not Attempt.objects.exists()


def test_what_has_changed_since_it_was_shown_is_not_stored(petra):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    confirm(petra, preview_of(petra, "\n".join(TEXT.splitlines()[:2])))
    answer = petra.post(f"{address}/confirm", fields, follow=True)
    assert "this has changed since it was shown" in answer.content.decode()
    assert Attempt.objects.count() == 1


def test_all_or_nothing_stores_nothing_if_a_line_is_left_out(petra):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    answer = petra.post(f"{address}/confirm", fields | {"all_or_nothing": "on"}, follow=True)
    assert "Nothing was stored" in answer.content.decode()
    assert not Attempt.objects.exists()


def test_a_file_that_cannot_be_read_is_refused_with_a_sentence_and_not_kept(petra):
    answer = upload(petra, b"PK\x03\x04")
    assert answer.status_code == 422
    assert "This is a spreadsheet workbook" in answer.content.decode()
    assert not ImportDraft.objects.exists()


def test_the_surface_of_lines_that_name_none_can_be_said(petra):
    address = preview_of(petra, "date,child,drill,value\n2026-02-03,Mai,log-roll,x\n")
    page = petra.get(address).content.decode()
    assert "The surface is missing." in page
    assert '<option value="bare-stage">Bare stage floor</option>' in page
    petra.post(f"{address}/options", {"usual": "wedge"})
    confirm(petra, address)
    assert Attempt.objects.get().surface.key == "wedge"


def test_a_surface_chosen_but_not_shown_yet_is_shown_before_it_is_stored(petra):
    address = preview_of(petra, "date,child,drill,value\n2026-02-03,Mai,log-roll,x\n")
    confirm(petra, address, encoding="utf-8", usual="wedge")
    assert not Attempt.objects.exists()
    confirm(petra, address, encoding="utf-8", usual="wedge")
    assert Attempt.objects.exists()


def test_dates_that_can_be_read_both_ways_are_asked_for(petra):
    text = "date,child,drill,surface,value\n03/02/2026,Mai,log-roll,wedge,x\n"
    address = preview_of(petra, text)
    page = petra.get(address).content.decode()
    assert "day first or month first: 03/02/2026" in page
    assert confirm_fields(page) == {}
    petra.post(f"{address}/options", {"dates": "day-first"})
    confirm(petra, address)
    assert Attempt.objects.get().day == datetime.date(2026, 2, 3)


def test_days_with_floor_lines_are_warned_of(petra, cast, log):
    log(cast.mai, "log-roll", "1", day=datetime.date(2026, 2, 3), support=0)
    page = petra.get(preview_of(petra, TEXT)).content.decode()
    assert "Logged on the floor already" in page
    assert "Mai Tran, Hollow-arch log roll, 2026-02-03" in page


def test_children_and_coaches_of_another_location_are_not_known(petra, cast):
    cast.mai.classes.set([cast.far])
    text = "date,child,drill,surface,value,coach\n2026-02-03,{},log-roll,wedge,x,{}\n"
    page = petra.get(preview_of(petra, text.format("Mai Tran", ""))).content.decode()
    assert "There is no child called “Mai Tran” here." in page
    page = petra.get(preview_of(petra, text.format("Rosa Vidal", "Dora"))).content.decode()
    assert "There is no coach called “Dora” here." in page
    page = petra.get(preview_of(petra, text.format("Rosa Vidal", "Ines"))).content.decode()
    assert "1 turn would be added," in page


def test_without_a_ladder_the_page_says_so(petra):
    with lifted():
        LadderVersion.objects.all().delete()
    page = petra.get(preview_of(petra, TEXT)).content.decode()
    assert "Load a ladder first" in page
    assert confirm_fields(page) == {}


@pytest.mark.parametrize("when", ["before", "after"])
def test_the_lines_left_out_can_be_saved_before_and_after_the_confirmation(petra, when):
    address = preview_of(petra, TEXT)
    if when == "after":
        confirm(petra, address)
    answer = petra.get(f"{address}/left-out")
    assert answer["Content-Disposition"] == 'attachment; filename="lines-left-out.csv"'
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert len(lines) == 2
    assert lines[1].startswith('"4","value",')


@pytest.mark.parametrize("who", ["omar", "tam"])
def test_coaches_and_assistants_bring_nothing_in(cast, who):
    client = Client()
    client.force_login(getattr(cast, who))
    assert client.get("/paper").status_code == 403
    assert upload(client, TEXT).status_code == 403
    assert not ImportDraft.objects.exists()


def test_another_directors_upload_is_not_found_and_nothing_is_stored(petra, cast):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    luis = Client()
    luis.force_login(cast.luis)
    assert luis.get(address).status_code == 404
    assert luis.get(f"{address}/left-out").status_code == 404
    assert luis.post(f"{address}/options", {"encoding": "utf-8"}).status_code == 404
    assert luis.post(f"{address}/confirm", fields).status_code == 404
    assert not Attempt.objects.exists()


def test_an_upload_of_the_other_kind_is_not_found(petra, cast):
    draft = ImportDraft.objects.create(
        uuid=uuid.uuid4(),
        kind="roster",
        owner=cast.petra,
        name="r.csv",
        data=b"x",
        created_at=NOW,
    )
    assert petra.get(f"/paper/{draft.uuid}").status_code == 404


@pytest.mark.parametrize("verb", ["options", "confirm"])
def test_changes_are_posted_only(petra, verb):
    address = preview_of(petra, TEXT)
    assert petra.get(f"{address}/{verb}").status_code == 405


def test_the_page_asks_few_questions_of_the_database(petra, django_assert_max_num_queries):
    line = "2026-02-03,{},log-roll,wedge,clean\n"
    names = ["Mai Tran", "Rosa Vidal"] * 10
    address = preview_of(petra, TEXT + "".join(line.format(name) for name in names))
    with django_assert_max_num_queries(20):
        petra.get(address)
