// The stop rules beside the tank without a signal: no milder than the service's.

const BLUES = { faint_blue: 1, green: 1, blue: 2, deep_blue: 3 };
const DRAIN = "Drain and rinse now.";
const LEAVE = "Everybody out, ventilate. Nobody goes back alone.";
const REFRIGERANT = "Refrigerant may be leaking: ventilate, no ignition, a certified person.";

const known = (value) => value !== null && value !== undefined;
const over = (value, limit) => known(value) && known(limit) && value > limit;
const at = (look) => Date.parse(look.at) / 1000;
const mean = (values) => values.reduce((sum, one) => sum + one, 0) / values.length;

// A straight line by least squares through what `of` reads: its slope [1/s] and the spread of the times [s2]; null where it takes more looks.
function fit(read, of, least) {
  const middle = mean(read.map(at)), value = mean(read.map(of));
  const spread = read.reduce((sum, look) => sum + (at(look) - middle) ** 2, 0);
  if (read.length < least || !spread) return null;
  return { spread, slope: read.reduce((sum, look) => sum + (at(look) - middle) * (of(look) - value), 0) / spread };
}

function deepened(looks, earlier) {
  let before = BLUES[earlier] || 0, found = false;
  for (const look of looks) {
    if (!look.colour) continue;
    const rank = BLUES[look.colour] || 0;
    found = before > 0 && rank > before;
    before = rank;
  }
  return found;
}

// The engine's rule: a straight line through the last half hour's levels, surely not flat and worth more than 8 mm.
const HOLD_S = 1800, LEVEL_U_M = 0.003, LEVEL_Z = 3.5, LEAST_CHANGE_M = 0.008;

// +1 rises, -1 falls, 0 neither.
export function levelTrend(looks) {
  const since = looks.length ? at(looks.at(-1)) - HOLD_S * 1.05 : 0;
  const line = fit(looks.filter((look) => known(look.level_m) && at(look) >= since), (look) => look.level_m, 3);
  if (!line) return 0;
  const { slope, spread } = line;
  const sure = Math.abs(slope) > (LEVEL_Z * LEVEL_U_M) / Math.sqrt(spread) && Math.abs(slope) * HOLD_S > LEAST_CHANGE_M;
  return sure ? Math.sign(slope) : 0;
}

// Probability of a standard normal below z (Abramowitz and Stegun 26.2.17, to 7.5e-8).
function below(z) {
  const t = 1 / (1 + 0.2316419 * Math.abs(z)), tail = Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI)
    * t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}

const STRENGTH_U = 0.02, STRENGTH_STEADY = 0.06, SURELY_STEADY = 0.97;
const strengthOf = (look, limits) => look.strength ?? (known(look.drops) && limits.strength_per_drop ? look.drops * limits.strength_per_drop : null);

// How likely the strength has stopped changing over the hold, by the engine's rule; 0 where nobody can tell.
function strengthSteady(looks, limits) {
  const last = at(looks.at(-1)), start = limits.start_strength;
  const before = looks.map(at).filter((time) => time <= last - HOLD_S * 0.95), since = before.length ? Math.max(...before) : at(looks[0]);
  const read = looks.filter((look) => at(look) >= since && strengthOf(look, limits) !== null);
  const line = start ? fit(read, (look) => strengthOf(look, limits), 2) : null;
  if (!line) return 0;
  const { slope, spread } = line;
  const span = Math.min(at(read.at(-1)) - at(read[0]), HOLD_S);
  const change = slope * span, u = (STRENGTH_U * start * span) / Math.sqrt(spread), most = STRENGTH_STEADY * start;
  return below((most - change) / u) - below((-most - change) / u);
}

const fizzes = (look) => !!look.bubbles && look.bubbles !== "none";

// Bubbles for a whole hold while the titrations stand still; or in plain water, before any acid.
export function bubblesWithoutAcid(batch, looks, limits) {
  if (!looks.length) return false;
  if (!batch) return fizzes(looks.at(-1));
  const last = at(looks.at(-1));
  const window = looks.filter((look) => at(look) >= last - HOLD_S * 1.05);
  if (last - at(window[0]) < HOLD_S * 0.95 || !window.every(fizzes)) return false;
  return strengthSteady(looks, limits) >= SURELY_STEADY;
}

// limits: the page's facts; batch: {at, out_by}; its looks, oldest first, the typed one last; the colour of the bath before.
export function stops(limits, batch, looks, now, earlier) {
  const last = looks.at(-1) || {}, found = [];
  const stop = (code, words, what = DRAIN) => found.push({ code, words, what });
  if (batch && now >= Date.parse(batch.out_by)) stop("time_up", "The batch has to be out by now.");
  if (over(last.temperature_k, limits.cap_k)) stop("too_warm", `Warmer than ${limits.cap_words}, the cap for this bath.`);
  if (over(last.copper_mg_per_l, limits.copper_mg_per_l)) stop("copper", `Copper above the sheet's ${limits.copper_mg_per_l} mg/L: metal is dissolving.`);
  if (over(last.iron_mg_per_l, limits.iron_mg_per_l)) stop("iron", `Iron above the sheet's ${limits.iron_mg_per_l} mg/L: metal is dissolving.`);
  if (deepened(looks, earlier)) stop("blue_deepening", "The blue deepens: copper is dissolving.");
  const change = levelTrend(looks);
  if (change > 0) stop("level_rising", "The level rises: a valve lets loop water in.", "Pump off, shut the hose valves, re-seat the leaking valve, spare container, then drain.");
  if (change < 0) stop("level_falling", "The level falls: there is a leak.", "Pump off, catch what runs out, drain.");
  if (bubblesWithoutAcid(batch, looks, limits)) stop("bubbles_without_acid", "Bubbles while no acid is being used.", REFRIGERANT);
  if (last.oil) stop("oil", "Oil in the return.", REFRIGERANT);
  if (last.leak) stop("leak", "A leak was seen.", "Pump off, catch what runs out, drain.");
  if (last.fumes && last.fumes !== "none") stop("fumes", "Fumes or a smell where there should be none.", LEAVE);
  if (last.gas_alarm) stop("gas_alarm", "The gas meter's alarm went off.", LEAVE);
  return found;
}

export function asks(looks) {
  const last = looks.at(-1) || {};
  const faint = BLUES[last.colour] === 1 && !known(last.copper_mg_per_l);
  return faint ? ["Faint colour: copper strip now."] : [];
}

const FIRST_LOOKS_MIN = [0, 3, 6, 10], LOOK_EVERY_MIN = 10;

// When the next look is due [ms], from the batch's start and the last look.
export function nextLook(batch, looks) {
  const start = Date.parse(batch.at), last = looks.length ? Date.parse(looks.at(-1).at) : -Infinity;
  const early = FIRST_LOOKS_MIN.map((minutes) => start + minutes * 60000).find((due) => due > last);
  return early ?? last + LOOK_EVERY_MIN * 60000;
}

// "1 h 05 min", "12 min 30 s"; a minus where it is over.
export function clock(ms) {
  const over_ = ms < 0, s = Math.floor(Math.abs(ms) / 1000), h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  const words = h ? `${h} h ${String(m).padStart(2, "0")} min` : `${m} min ${String(s % 60).padStart(2, "0")} s`;
  return over_ ? `over by ${words}` : words;
}
