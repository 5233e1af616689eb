"""The pages of the office, the client, and everyone's own."""

from tests.browser.shown import Shown

LISTS = ("customers", "sites", "units", "exchangers", "tables", "gauge-sets", "cleaners", "rigs", "people")
FORMS = ("customers", "sites", "units", "exchangers", "cleaners", "tables", "gauge-sets", "rigs", "events",
         "water-tests", "accesses", "table-rows", "instruments", "lots")  # fmt: skip
ROWS = {
    "customers": "{kept.customers}", "sites": "{sites.quay}", "units": "{units.first}",
    "exchangers": "{exchangers.first}", "tables": "{kept.tables}", "gauge-sets": "{kept.gauge-sets}",
    "cleaners": "{kept.cleaners}", "rigs": "{kept.rigs}", "events": "{happened.events}",
    "instruments": "{kept.instruments}", "lots": "{kept.lots}",
}  # fmt: skip

PAGES = [
    Shown("front", "", "/"),
    Shown("sign-in", "", "/sign-in/"),
    Shown("forgotten", "", "/forgotten/"),
    Shown("nothing-here", "", "/nothing-here/", missing=True),
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
    Shown("office-price", "office", "/office/descales/{happened.descale}/price/"),
    Shown("office-work", "office", "/office/work/"),
    Shown("owner-register", "owner", "/office/register/"),
    Shown("owner-person", "owner", "/office/people/{people.tech}/"),
    Shown("owner-new-person", "owner", "/office/people/new/"),
    Shown("client-sites", "client", "/client/"),
    Shown("client-site", "client", "/client/sites/{sites.quay}/"),
    Shown("client-unit", "client", "/client/units/{units.first}/"),
    Shown("client-unit-unread", "client", "/client/units/{units.second}/"),
    *(Shown(f"list-{slug}", "office", f"/office/{slug}/") for slug in LISTS),
    *(Shown(f"new-{slug}", "office", f"/office/{slug}/new/") for slug in FORMS),
    *(Shown(f"show-{slug}", "office", f"/office/{slug}/{pk}/") for slug, pk in ROWS.items()),
    Shown("edit-units", "office", "/office/units/{units.first}/edit/"),
]
