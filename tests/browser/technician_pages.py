"""The technician's pages."""

from tests.browser.shown import Shown

TYPED = """(() => {
  const type = (name, value) => { const f = document.getElementById(name); f.value = value;
    f.dispatchEvent(new Event('input', {bubbles: true})); };
  type('entering_water', '85.2'); type('leaving_water', '94.8'); type('head_pressure', '352');
  type('liquid_line', '93');
  type('suction_pressure', '132'); type('suction_line', '58'); type('water_flow', '7.9');
})()"""

PAGES = [
    Shown("crew-visits", "tech", "/crew/"),
    Shown("crew-visit", "tech", "/crew/visits/{visits.today}/"),
    Shown("crew-survey", "tech", "/crew/visits/{visits.survey}/survey/"),
    Shown("crew-unit", "tech", "/crew/units/{units.first}/?visit={visits.today}"),
    Shown("crew-unit-unread", "tech", "/crew/units/{units.second}/?visit={visits.today}"),
    Shown("crew-reading", "tech", "/crew/exchangers/{exchangers.first}/reading/?visit={visits.today}"),
    Shown(
        "crew-reading-typed",
        "tech",
        "/crew/exchangers/{exchangers.second}/reading/?visit={visits.today}",
        TYPED,
    ),
    *(
        Shown(f"crew-descale-{screen}", "tech", f"/crew/descales/{{descale}}/#{screen}")
        for screen in ("checks", "dose", "tank", "waste", "end", "sign", "help")
    ),
    Shown("crew-tag", "tech", "/crew/tag/"),
    Shown("crew-tag-elsewhere", "tech", "/t/LM-07/"),
    Shown("crew-unsent", "tech", "/crew/unsent/"),
]
