"""Who may merge two records, what is refused, chains, and lists that show one child once."""

import pytest

from studio.access import children_since, visible_children
from studio.models import Child, Merge
from studio.people.class_lists import belonged, classes_of, in_class, join, leave
from studio.people.merging import NotMerged, merge, undo
from studio.people.told_apart import full_name, who
from tests.support.cast import NOW, TODAY, Cast, make_child

pytestmark = pytest.mark.django_db


def again(child: Child) -> Child:
    return Child.objects.get(pk=child.pk)


def refused(cast: Cast, loser: Child, survivor: Child, by=None) -> str:
    before = list(Merge.objects.values())
    with pytest.raises(NotMerged) as why:
        merge(loser, survivor, by or cast.petra, NOW)
    assert list(Merge.objects.values()) == before
    return why.value.code


def test_one_row_merges_and_the_same_row_parts(cast: Cast) -> None:
    other = make_child("Mai T.", cast.red)
    before = list(Child.objects.order_by("pk").values())
    row = merge(other, cast.mai, cast.petra, NOW)
    assert (row.loser, row.survivor, row.by, row.at) == (other, cast.mai, cast.petra, NOW)
    assert again(other).root == cast.mai.pk
    undo(row, cast.luis, NOW)
    row.refresh_from_db()
    assert (row.undone_at, row.undone_by) == (NOW, cast.luis)
    assert Merge.objects.count() == 1
    assert list(Child.objects.order_by("pk").values()) == before


def test_only_directors_merge_and_part(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    for who_else in (cast.omar, cast.tam):
        assert refused(cast, other, cast.mai, who_else) == "may-not"
    cast.petra.coach_rights_only = True
    assert refused(cast, other, cast.mai, cast.petra) == "may-not"
    row = merge(other, cast.mai, cast.luis, NOW)
    with pytest.raises(NotMerged):
        undo(row, cast.omar, NOW)
    assert again(other).root == cast.mai.pk


def test_a_chain_leads_to_its_end_and_each_link_is_undone_by_itself(cast: Cast) -> None:
    first, second = make_child("Mai 1", cast.blue), make_child("Mai 2", cast.blue)
    inner = merge(first, second, cast.petra, NOW)
    outer = merge(second, cast.mai, cast.petra, NOW)
    assert [again(each).root for each in (first, second)] == [cast.mai.pk] * 2
    undo(inner, cast.petra, NOW)
    assert [again(each).root for each in (first, second)] == [first.pk, cast.mai.pk]
    merge(first, second, cast.petra, NOW)
    undo(outer, cast.petra, NOW)
    assert [again(each).root for each in (first, second)] == [second.pk, second.pk]


def test_a_circle_is_refused(cast: Cast) -> None:
    first, second = make_child("Mai 1", cast.blue), make_child("Mai 2", cast.blue)
    merge(first, second, cast.petra, NOW)
    assert refused(cast, second, first) == "same-child"
    merge(second, cast.mai, cast.petra, NOW)
    assert refused(cast, cast.mai, first) == "same-child"
    assert refused(cast, cast.mai, cast.mai) == "same-child"


def test_a_record_is_merged_once_and_parted_once(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    row = merge(other, cast.mai, cast.petra, NOW)
    assert refused(cast, other, cast.ilse) == "merged-already"
    undo(row, cast.petra, NOW)
    with pytest.raises(NotMerged) as why:
        undo(row, cast.petra, NOW)
    assert why.value.code == "undone-already"


# --- lists ----------------------------------------------------------------------------


def test_the_child_is_once_on_the_lists_of_both_records_classes(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue, cast.red)
    merge(other, cast.mai, cast.petra, NOW)
    for group in (cast.blue, cast.red):
        names = [child.name for child in Child.objects.filter(pk__in=in_class(group.pk))]
        assert sorted(names) == sorted({"Mai Tran", *names} - {"Mai T."})
        then = Child.objects.filter(belonged(group.pk, TODAY)).values_list("name", flat=True)
        assert sorted(then) == sorted(names)
    assert [group.name for group in classes_of([cast.mai])[cast.mai.pk]] == ["Blue", "Red"]
    assert who(again(cast.mai), TODAY).endswith("Blue, Red")


def test_who_sees_a_class_of_either_record_sees_the_child(cast: Cast) -> None:
    assert cast.mai not in visible_children(cast.ines, TODAY)
    other = make_child("Mai T.", cast.red)
    merge(other, cast.mai, cast.petra, NOW)
    assert set(visible_children(cast.ines, TODAY)) == {cast.rosa, cast.mai}
    assert other not in children_since(cast.petra, TODAY)


def test_leaving_a_class_takes_all_records_out_and_joining_is_once(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    merge(other, cast.mai, cast.petra, NOW)
    mai = again(cast.mai)
    join(mai, cast.blue, TODAY)
    assert set(cast.blue.children.all()) == {cast.mai, cast.ilse, other}
    assert leave(mai, cast.blue, TODAY)
    assert not leave(mai, cast.blue, TODAY)
    assert set(cast.blue.children.all()) == {cast.ilse}


def test_a_merged_namesake_is_nobody_to_be_told_apart_from(cast: Cast) -> None:
    other = make_child("Mai Tran", cast.blue, born=(2016, 5))
    assert full_name(cast.mai) != "Mai Tran"
    merge(other, cast.mai, cast.petra, NOW)
    assert full_name(cast.mai) == "Mai Tran"
