"""One person is never held by two visits at once, whoever writes the rows.

PostgreSQL: an exclusion constraint. SQLite has none, so there two triggers refuse the second place; its one
writer at a time makes them as good. Django remakes a SQLite table to alter it and drops its triggers then: a later
migration that alters this table must make them again (a test on both databases tells).
"""

from django.db import migrations

NAME = "crewplace_never_twice_at_once"
TABLE = "visits_crewplace"

POSTGRESQL = [
    "CREATE EXTENSION IF NOT EXISTS btree_gist",
    f"ALTER TABLE {TABLE} ADD CONSTRAINT {NAME} EXCLUDE USING gist "
    "(person_id WITH =, tstzrange(holds_from, holds_until) WITH &&) WHERE (holds_from IS NOT NULL)",
]
TRIGGER = f"""
CREATE TRIGGER {NAME}_{{moment}} BEFORE {{event}} ON {TABLE} WHEN NEW.holds_from IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, '{NAME}') WHERE EXISTS (
    SELECT 1 FROM {TABLE} other WHERE other.person_id = NEW.person_id AND other.id <> NEW.id
    AND other.holds_from < NEW.holds_until AND other.holds_until > NEW.holds_from);
END
"""
SQLITE = [
    TRIGGER.format(moment="insert", event="INSERT"),
    TRIGGER.format(moment="update", event="UPDATE"),
]


def refuse_double_booking(apps, schema_editor):
    statements = {"postgresql": POSTGRESQL, "sqlite": SQLITE}[schema_editor.connection.vendor]
    for statement in statements:
        schema_editor.execute(statement)


def allow_double_booking(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"ALTER TABLE {TABLE} DROP CONSTRAINT {NAME}")
    else:
        for moment in ("insert", "update"):
            schema_editor.execute(f"DROP TRIGGER {NAME}_{moment}")


class Migration(migrations.Migration):
    dependencies = [("visits", "0001_initial")]
    operations = [migrations.RunPython(refuse_double_booking, allow_double_booking)]
