"""What is done at a descale, in the order it is done: one verb a function. API, pages and demo call these.

    recommend, change_descale               anybody of the crew
    state_price, record_consent             the office
    choose_cleaner                          which sheets fit, which are refused and why
    request_plan                            refused (409, every reason at once) or queued; the worker keeps it
    give_notice                             the office; the client reads it, a worker e-mails it
    record_check ... may_dose               the dose screen is shut until `may_dose(descale, at).open`
    mix_batch, add_portion, clocks_running  acid; or acid_is_in, whatever was done before
    add_look, verdict_of, batch_is_out      beside the tank; `do_now` of each answer says what to do
    photo_of_look                           when it comes: a look waits for none
    record_end_step, what_lacks             the unit is back in service when nothing lacks
    add_neutraliser, record_discharge, attach_acceptance, hold_waste, waste_collected
    request_proof                           queued; the worker keeps a Verification. Asked for by itself when
                                            the readings after are assessed (follow_after_readings)
    sign, certify                           the end
    call_off, could_not_do                  the other ends

A decision out of turn raises a Problem. What happened is kept whatever the state: `Told.row.marks` says what
stood against it, `Told.do_now` what to do.
"""

from contractor.descales.services.baths import batches_of
from contractor.descales.services.causes import readings_ranked
from contractor.descales.services.checking import MayDose, latest_checks, may_dose, record_check
from contractor.descales.services.choosing import Choice, choose_cleaner, deposit_expected
from contractor.descales.services.deciding import (
    call_off,
    change_descale,
    could_not_do,
    give_notice,
    notice_lacks,
    recommend,
    record_consent,
    state_price,
)
from contractor.descales.services.dissolved import Dissolved, dissolved_by_titration
from contractor.descales.services.dosing import (
    Clock,
    acid_is_in,
    batch_is_out,
    clocks_running,
    longest_time_s,
    mix_batch,
    open_descale,
    sayings_of,
)
from contractor.descales.services.due import NextLook, StrainerDue, next_looks, strainer_of, strainers_due
from contractor.descales.services.ending import record_end_step
from contractor.descales.services.judging import Verdict, verdict_of
from contractor.descales.services.looking import add_look, photo_of_look
from contractor.descales.services.neutralising import add_neutraliser
from contractor.descales.services.noticing import NOBODY, email_notice, people_told
from contractor.descales.services.planning import current_plan, make_plan, request_plan
from contractor.descales.services.portions import add_portion
from contractor.descales.services.proving import PROVABLE, follow_after_readings, prove, request_proof
from contractor.descales.services.rules import ALARM, CERTIFIED, NOTICE, PLAN, PROVE, Saying, Told
from contractor.descales.services.signing import certify, not_yet_certifiable, sign
from contractor.descales.services.steps import settled_steps, what_lacks
from contractor.descales.services.waste import (
    attach_acceptance,
    baths_unaccounted,
    hold_waste,
    may_discharge,
    record_discharge,
    waste_collected,
)

__all__ = [
    "ALARM",
    "CERTIFIED",
    "NOBODY",
    "NOTICE",
    "PLAN",
    "PROVABLE",
    "PROVE",
    "Choice",
    "Clock",
    "Dissolved",
    "MayDose",
    "NextLook",
    "Saying",
    "StrainerDue",
    "Told",
    "Verdict",
    "acid_is_in",
    "add_look",
    "add_neutraliser",
    "add_portion",
    "attach_acceptance",
    "batch_is_out",
    "batches_of",
    "baths_unaccounted",
    "call_off",
    "certify",
    "change_descale",
    "choose_cleaner",
    "clocks_running",
    "could_not_do",
    "current_plan",
    "deposit_expected",
    "dissolved_by_titration",
    "email_notice",
    "follow_after_readings",
    "give_notice",
    "hold_waste",
    "latest_checks",
    "longest_time_s",
    "make_plan",
    "may_discharge",
    "may_dose",
    "mix_batch",
    "next_looks",
    "not_yet_certifiable",
    "notice_lacks",
    "open_descale",
    "people_told",
    "photo_of_look",
    "prove",
    "readings_ranked",
    "recommend",
    "record_check",
    "record_consent",
    "record_discharge",
    "record_end_step",
    "request_plan",
    "request_proof",
    "sayings_of",
    "settled_steps",
    "sign",
    "state_price",
    "strainer_of",
    "strainers_due",
    "verdict_of",
    "waste_collected",
    "what_lacks",
]
