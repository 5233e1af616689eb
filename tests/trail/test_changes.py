"""Every write leaves who, when and what changed, in the same transaction."""

from __future__ import annotations

import pytest
from django.db import transaction

from contractor.accounts.models import Person
from contractor.register.models import Customer
from contractor.trail.actor import NOBODY, acting_as, current_actor
from contractor.trail.models import Change
from contractor.trail.tracked import Stale
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def changes_of(row: Customer | Person) -> list[Change]:
    return list(Change.objects.filter(row_id=str(row.pk)).order_by("id"))


def test_a_creation_tells_every_column_that_was_filled() -> None:
    [change] = changes_of(make.customer(name="St Brannoc Clinic", code="C7"))
    assert (change.action, change.table, change.by) == ("created", "register.customer", "program")
    assert change.fields["name"] == [None, "St Brannoc Clinic"]
    assert change.fields["code"] == [None, "C7"]


def test_a_change_tells_before_and_after_of_what_changed_only() -> None:
    row = make.customer(name="Before")
    row.name = "After"
    row.save()
    assert changes_of(row)[-1].fields == {"name": ["Before", "After"]}


def test_a_row_read_from_the_database_knows_what_it_was() -> None:
    row = Customer.objects.get(pk=make.customer(name="Before").pk)
    row.name = "After"
    row.save()
    row.name = "Later"
    row.save()
    assert [change.fields["name"] for change in changes_of(row)[1:]] == [
        ["Before", "After"],
        ["After", "Later"],
    ]


def test_saving_without_a_change_leaves_none() -> None:
    row = make.customer()
    row.save()
    assert len(changes_of(row)) == 1


def test_only_columns_that_were_written_are_told() -> None:
    row = make.customer(name="Before", notes="old")
    row.name, row.notes = "After", "new"
    row.save(update_fields=["notes"])
    assert changes_of(row)[-1].fields == {"notes": ["old", "new"]}
    row.save()
    assert changes_of(row)[-1].fields == {"name": ["Before", "After"]}


def test_content_that_changes_in_place_is_noticed() -> None:
    unit = make.unit()
    unit.as_typed = {"capacity": {"value": "3"}}
    unit.save()
    unit = type(unit).objects.get(pk=unit.pk)
    unit.as_typed["capacity"]["value"] = "4"
    unit.save()
    assert Change.objects.filter(row_id=str(unit.pk)).latest("id").fields["as_typed"] == [
        {"capacity": {"value": "3"}},
        {"capacity": {"value": "4"}},
    ]


def test_a_deletion_tells_what_was_there() -> None:
    row = make.customer(name="Gone")
    pk = row.pk
    row.delete()
    change = Change.objects.get(row_id=str(pk), action="deleted")
    assert change.fields["name"] == ["Gone", None]


def test_a_new_password_is_told_but_not_shown(cast: Cast) -> None:
    cast.other.set_password("another four plain words")
    cast.other.save()
    assert changes_of(cast.other)[-1].fields == {"password": ["hidden", "hidden"]}
    assert all("pbkdf2" not in str(c.fields) and "md5" not in str(c.fields) for c in Change.objects.all())


def test_the_person_who_acts_over_the_api_is_named(cast: Cast) -> None:
    as_person(cast.owner).post("/api/v1/people/", {"email": "n@example.org", "name": "N", "role": "office"})
    change = Change.objects.get(row_id=str(Person.objects.get(email="n@example.org").pk))
    assert (change.person_id, change.by) == (cast.owner.pk, "owner@example.org")


def test_an_actor_ends_with_the_block_also_when_it_fails() -> None:
    with pytest.raises(RuntimeError), acting_as(None, "import"):
        assert current_actor().by == "import"
        raise RuntimeError
    assert current_actor() == NOBODY


def test_a_rolled_back_write_leaves_no_trace() -> None:
    with pytest.raises(RuntimeError), transaction.atomic():
        make.customer()
        raise RuntimeError
    assert not Change.objects.exists()


def test_two_who_read_the_same_row_do_not_overwrite_each_other() -> None:
    first = make.customer(name="Was")
    second = Customer.objects.get(pk=first.pk)
    first.name = "First"
    first.save()
    second.notes = "Second"
    with pytest.raises(Stale):
        second.save()
    assert Customer.objects.get(pk=first.pk).notes == ""
    second.refresh_from_db()
    second.notes = "Second"
    second.save()
    assert (second.name, second.version) == ("First", 3)


def test_a_refused_save_can_be_mended_and_repeated() -> None:
    from django.db import IntegrityError

    make.customer(name="Taken")
    row = make.customer(name="Free")
    row.name = "Taken"
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()
    row.name = "Other"
    row.save()
    assert (row.version, changes_of(row)[-1].fields) == (2, {"name": ["Free", "Other"]})


def test_what_a_command_writes_names_the_command(monkeypatch: pytest.MonkeyPatch) -> None:
    import manage

    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", make.PASSWORD)
    command = ["manage.py", "createsuperuser", "--noinput", "--email", "first@example.org", "--name", "First"]
    monkeypatch.setattr("sys.argv", command)
    monkeypatch.setattr("django.core.management.base.connections.close_all", lambda: None)
    manage.main()
    [change] = changes_of(Person.objects.get(email="first@example.org"))
    assert (change.by, change.person) == ("manage.py createsuperuser", None)
    assert current_actor() == NOBODY
