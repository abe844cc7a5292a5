// Today's air, as the density-altitude form was last told it.

import { lastResult, typedAt } from "../core/lastanswer.js";

const FORM = "density-altitude";
const OLD = 2 * 3600 * 1000; // ms: after two hours the weather may be another
const MINUTE = 60 * 1000;

// {pressure, temperature, humidity (SI), at (ms since 1970)}, or null where nothing was ever entered.
export function todaysAir() {
  const at = typedAt(FORM);
  const [pressure, temperature, humidity] = ["station_pressure", "temperature", "relative_humidity"].map((name) => lastResult(FORM, name));
  return at === null || [pressure, temperature, humidity].includes(null) ? null : { pressure, temperature, humidity, at };
}

export function isOld(air, now = Date.now()) {
  return now - air.at > OLD;
}

export function ageInWords(at, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - at) / MINUTE));
  if (minutes < 1) return "just now";
  if (minutes < 60) return `${minutes} min ago`;
  if (minutes < 48 * 60) return `${Math.floor(minutes / 60)} h ago`;
  return `${Math.floor(minutes / (24 * 60))} days ago`;
}
