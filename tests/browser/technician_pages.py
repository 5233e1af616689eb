"""The technician's pages."""

from tests.browser.shown import Shown

TYPED = """(() => {
  const type = (name, value) => { const f = document.getElementById(name); f.value = value;
    f.dispatchEvent(new Event('input', {bubbles: true})); };
  type('entering_water', '85.2'); type('leaving_water', '94.8'); type('head_pressure', '352');
  type('liquid_line', '93');
  type('suction_pressure', '132'); type('suction_line', '58'); type('water_flow', '7.9');
})()"""

BELOW_ZERO = """(() => {
  const form = document.getElementById('reading'), set = (name, value) => {
    const field = form.elements[name]; field.value = value;
    field.dispatchEvent(new Event('input', {bubbles: true})); };
  for (const name of ['entering_water', 'leaving_water', 'liquid_line', 'suction_line', 'discharge_line'])
    set(name + '_unit', 'degC');
  form.querySelector('[name=mode][value=heating]').click();
  set('entering_water', '-1.5'); set('leaving_water', '-4.2'); set('suction_pressure_unit', 'kPa_gauge');
  set('suction_pressure', '520'); set('suction_line', '-3'); set('head_pressure', '9000');
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
    Shown(
        "crew-reading-below-zero",
        "tech",
        "/crew/exchangers/{exchangers.second_b}/reading/?visit={visits.today}",
        BELOW_ZERO,
    ),
    *(
        Shown(f"crew-descale-{screen}", "tech", f"/crew/descales/{{descale}}/#{screen}")
        for screen in ("checks", "dose", "tank", "waste", "end", "sign", "help", "causes")
    ),
    Shown("crew-tag", "tech", "/crew/tag/"),
    Shown("crew-tag-elsewhere", "tech", "/t/LM-07/"),
    Shown("crew-unsent", "tech", "/crew/unsent/"),
]
