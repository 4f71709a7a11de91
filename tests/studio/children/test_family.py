"""Somebody of the staff is family of a child: written down at the desk, and ended by others."""

import pytest

from studio.access import deciders
from studio.models import FamilyOnStaff
from studio.people.family import children_of_family, family_on_staff, is_family, say_family
from tests.support.cast import NOW, TODAY
from tests.support.pages import get, text_of

pytestmark = pytest.mark.django_db


def post(client, who, child, verb, **said):
    client.force_login(who)
    return client.post(f"/children/{child.uuid}/{verb}", said)


def test_the_desk_writes_down_who_is_family_once(client, cast):
    for _ in range(2):
        said = {"family-staff": str(cast.omar.uuid)}
        assert post(client, cast.petra, cast.mai, "family", **said).status_code == 302
    row = FamilyOnStaff.objects.get()
    assert (row.staff, row.child, row.by) == (cast.omar, cast.mai, cast.petra)
    assert is_family(cast.omar, cast.mai)
    assert not is_family(cast.omar, cast.ilse)
    words = text_of(get(client, cast.petra, f"/children/{cast.mai.uuid}/facts"))
    assert "Omar Omar is not family" in words


def test_only_a_director_does_and_only_of_colleagues(client, cast):
    said = {"family-staff": str(cast.omar.uuid)}
    assert post(client, cast.omar, cast.mai, "family", **said).status_code == 403
    assert post(client, cast.dora, cast.mai, "family", **said).status_code == 404
    said = {"family-staff": str(cast.dora.uuid)}
    assert post(client, cast.petra, cast.mai, "family", **said).status_code == 422
    assert not FamilyOnStaff.objects.exists()


def test_nobody_ends_their_own(client, cast):
    say_family(cast.mai, cast.petra, cast.petra, NOW)
    row = FamilyOnStaff.objects.get()
    page = get(client, cast.petra, f"/children/{cast.mai.uuid}/facts")
    assert "is not family" not in text_of(page)
    said = {"row": str(row.uuid)}
    assert post(client, cast.petra, cast.mai, "family/end", **said).status_code == 403
    assert is_family(cast.petra, cast.mai)
    # Of another child it is not found either.
    assert post(client, cast.luis, cast.ilse, "family/end", **said).status_code == 403
    assert post(client, cast.luis, cast.mai, "family/end", **said).status_code == 302
    assert not is_family(cast.petra, cast.mai)
    row.refresh_from_db()
    assert row.ended_by == cast.luis
    # It may be said again.
    say_family(cast.mai, cast.petra, cast.luis, NOW)
    assert family_on_staff(cast.mai).count() == 1


def test_family_is_not_among_those_who_may_sign(cast):
    say_family(cast.mai, cast.petra, cast.luis, NOW)
    assert list(deciders(cast.mai, TODAY)) == [cast.luis]
    assert children_of_family(cast.petra) == {cast.mai.pk}
    assert children_of_family(cast.luis) == set()
