"""The pages of the office, the client, and everyone's own."""

from contractor.http.permissions import OFFICE
from contractor.web.records.kinds import KINDS
from tests.browser.shown import Shown

ROWS = {
    "customers": "{kept.customers}", "sites": "{sites.quay}", "units": "{units.first}",
    "exchangers": "{exchangers.first}", "tables": "{kept.tables}", "gauge-sets": "{kept.gauge-sets}",
    "cleaners": "{kept.cleaners}", "rigs": "{kept.rigs}", "events": "{happened.events}",
    "water-tests": "{happened.water-tests}", "accesses": "{kept.accesses}", "table-rows": "{kept.table-rows}",
    "instruments": "{kept.instruments}", "lots": "{kept.lots}", "people": "{people.tech}",
    "certificates": "{kept.certificates}",
}  # fmt: skip


def writer(slug: str) -> str:
    return "office" if KINDS[slug].may_write == OFFICE else "owner"


def record_pages(slug: str) -> list[Shown]:
    """Its list, the empty form, the row and the filled form."""
    writes, row = writer(slug), f"/office/{slug}/{ROWS[slug]}/"
    return [
        Shown(f"list-{slug}", "office", f"/office/{slug}/"),
        Shown(f"new-{slug}", writes, f"/office/{slug}/new/"),
        Shown(f"show-{slug}", "office", row),
        Shown(f"edit-{slug}", writes, f"{row}edit/"),
    ]


PAGES = [
    Shown("front", "", "/"),
    Shown("sign-in", "", "/sign-in/"),
    Shown("forgotten", "", "/forgotten/"),
    Shown("set-password", "", "/set-password/{secret}/"),
    Shown("nothing-here", "", "/nothing-here/", status=404),
    Shown("not-for-them", "client", "/office/", status=403),
    Shown("account", "office", "/account/"),
    Shown("password", "office", "/account/password/"),
    Shown("help", "client", "/help/"),
    Shown("office-to-do", "office", "/office/"),
    Shown("office-visits", "office", "/office/visits/"),
    Shown("office-visit", "office", "/office/visits/{visits.today}/"),
    Shown("office-book", "office", "/office/visits/new/"),
    Shown("office-move-visit", "office", "/office/visits/{visits.coming}/move/"),
    Shown("office-call-off", "office", "/office/visits/{visits.coming}/call-off/"),
    Shown("office-reading", "office", "/office/readings/{readings.last}/"),
    Shown("office-correct", "office", "/office/readings/{readings.last}/correct/"),
    Shown("office-move-reading", "office", "/office/readings/{readings.last}/move/"),
    Shown("office-documents", "office", "/office/documents/"),
    Shown("office-document", "office", "/office/documents/{papers.prepared}/"),
    Shown("office-send", "office", "/office/documents/{papers.released}/send/"),
    Shown("office-search", "office", "/office/search/?q=QH"),
    Shown("office-register", "office", "/office/register/"),
    Shown("office-descales", "office", "/office/descales/"),
    Shown("office-recommend", "office", "/office/descales/new/"),
    Shown("office-descale", "office", "/office/descales/{happened.descale}/"),
    Shown("office-descale-about", "office", "/office/descales/{happened.descale}/about/"),
    Shown("office-choose-cleaner", "office", "/office/descales/{happened.descale}/cleaners/"),
    Shown("office-call-off-descale", "office", "/office/descales/{happened.descale}/call-off/"),
    Shown("office-price", "office", "/office/descales/{happened.descale}/price/"),
    Shown("office-plan", "office", "/office/descales/{happened.descale}/plan/"),
    Shown("office-work", "office", "/office/work/"),
    Shown("office-one-matter", "office", "/office/?only=documents-waiting-to-be-released"),
    Shown("office-nothing-found", "office", "/office/search/?q=nowhere+at+all"),
    Shown("office-set-aside", "office", "/office/readings/{readings.last}/set-aside/"),
    Shown("office-withdraw", "office", "/office/documents/{papers.released}/withdraw/"),
    Shown("office-consent", "office", "/office/descales/{happened.descale}/consent/"),
    Shown("office-notice", "office", "/office/descales/{descale}/notice/"),
    Shown("office-descale-planned", "office", "/office/descales/{descale}/"),
    Shown("office-plan-anew", "office", "/office/descales/{descale}/plan/"),
    Shown("office-collected", "office", "/office/held-waste/{happened.waste}/collected/"),
    Shown("owner-register", "owner", "/office/register/"),
    Shown("owner-person", "owner", "/office/people/{people.tech}/"),
    Shown("owner-people", "owner", "/office/people/"),
    Shown("owner-work", "owner", "/office/work/"),
    Shown("client-sites", "client", "/client/"),
    Shown("client-site", "client", "/client/sites/{sites.quay}/"),
    Shown("client-unit", "client", "/client/units/{units.first}/"),
    Shown("client-unit-unread", "client", "/client/units/{units.second}/"),
    *(page for slug in KINDS for page in record_pages(slug)),
]
