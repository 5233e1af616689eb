"""What is done on a visit: one verb a function. API, pages and demo all come through here."""

from contractor.visits.services.booking import book_visit, call_off, change_visit, finish_visit, start_visit
from contractor.visits.services.conflicts import why_unfit_for_chemical_work
from contractor.visits.services.findings import (
    Found,
    add_finding,
    add_photo,
    bring_back_finding,
    change_finding,
    post_finding,
    retire_finding,
)
from contractor.visits.services.readings import (
    Posted,
    correct_reading,
    follow_elevation,
    let_stand_as_clean,
    move_reading,
    post_readings,
    set_aside_reading,
)
from contractor.visits.services.rules import ASSESS, HEED, NOTICE, RANK
from contractor.visits.services.showing import show_clients
from contractor.visits.services.urgent import open_urgent_visit, unit_with_tag

__all__ = [
    "ASSESS",
    "HEED",
    "NOTICE",
    "RANK",
    "Found",
    "Posted",
    "add_finding",
    "add_photo",
    "book_visit",
    "bring_back_finding",
    "call_off",
    "change_finding",
    "change_visit",
    "correct_reading",
    "finish_visit",
    "follow_elevation",
    "let_stand_as_clean",
    "move_reading",
    "open_urgent_visit",
    "post_finding",
    "post_readings",
    "retire_finding",
    "set_aside_reading",
    "show_clients",
    "start_visit",
    "unit_with_tag",
    "why_unfit_for_chemical_work",
]
