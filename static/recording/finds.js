// What a stretch of a recording says: asked of calc one part at a time, so that the page answers in between.

import { breathe, breather } from "../core/breath.js";
import { plain, run } from "../core/compute.js";

const MOST_SAMPLES = 2500; // in one stretch; of more, each bucket's least and largest are taken
const KEPT_AT_MOST = 5; // of a bucket

const told = (kind, names) => names.map((name) => ({ name, kind }));
const form = (name, functionName, ...results) => ({ name, module: "recording", function: functionName, fields: [], results: results.flat() });

// Each part: what it is called, the function, and the kinds of its numbers for the sentences.
export const PARTS = {
  net: form("What lay over the bowls", "net_over_bowls",
    told("gauge_pressure", ["peak_boost", "peak_fuel", "least_boost", "least_fuel", "under_boost"]), told("pressure_difference", ["least_net", "under_most"]),
    told("logged_time", ["peak_time", "least_time", "leanest_time", "under_time", "under_longest", "under_start"]), told("rotational_speed", ["peak_speed", "least_speed"]),
    told("ratio", ["peak_mixture", "least_mixture", "leanest"]), told("voltage", ["least_battery"])),
  line: form("Base pressure and ratio", "regulator_line", told("gauge_pressure", ["base", "from_boost", "to_boost"]), told("ratio", ["ratio", "ratio_low", "ratio_high"]),
    told("pressure_difference", ["spread", "steady_rate"]), told("count", ["samples", "steady"])),
  lag: form("The regulator's lag", "regulator_lag", told("time", ["lag", "lag_low", "lag_high", "step"]), told("ratio", ["likeness"])),
  fall: form("Where the pump gives out", "giving_out", told("gauge_pressure", ["fall_boost", "fall_fuel", "held_boost"]), told("pressure_difference", ["fall_most"]),
    told("logged_time", ["fall_time", "fall_lasts"]), told("rotational_speed", ["fall_speed"])),
};

// The stretches under boost, as calc's `runs_in` tells them.
export async function runsIn(time, boost) {
  const work = plain("recording", "begin_runs", time, boost);
  const rest = breather();
  do await rest(); while (plain("recording", "advance_runs", work) < 1);
  return plain("recording", "finish_runs", work);
}

// The samples between two moments as plain lists: {columns, samples, taken}.
export function stretchOf(columns, from, to) {
  const [first, last] = [plain("recording", "place_of", columns.time, from), plain("recording", "place_of", columns.time, to)];
  const end = Math.min(last + 1, columns.time.length);
  const names = Object.keys(columns);
  if (end - first <= MOST_SAMPLES) return { samples: end - first, taken: end - first, columns: Object.fromEntries(names.map((name) => [name, Array.from(columns[name].slice(first, end))])) };
  const places = plain("recording", "thin", [columns.boost, columns.fuel], first, end, Math.floor(MOST_SAMPLES / KEPT_AT_MOST));
  return { samples: end - first, taken: places.length, columns: Object.fromEntries(names.map((name) => [name, places.map((place) => columns[name][place])])) };
}

// A part that takes long: begun, taken on and finished, with the page in between.
async function inPieces(part, inputs) {
  await breathe();
  const rest = breather();
  const work = plain("recording", `begin_${part}`, inputs);
  do await rest(); while (plain("recording", `advance_${part}`, work) < 1);
  await breathe();
  return run(PARTS[part], work, `finish_${part}`);
}

// -> {net, line, lag, fall}, each {results, notes} or {errors}.
export async function findAll(columns, { card = [], drops = [] }) {
  const ask = async (part, more) => {
    await breathe();
    return run(PARTS[part], { ...columns, ...more });
  };
  const net = await ask("net", { card, drops });
  if (net.errors) return { net };
  const lag = await inPieces("lag", columns);
  const late = lag.results?.told ? lag.results.lag : 0;
  const line = await inPieces("line", { ...columns, lag: late });
  const fall = await ask("fall", { line: line.results ?? { told: false }, lag: late });
  return { net, line, lag, fall };
}
