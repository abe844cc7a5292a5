// The race-day board: the day's passes in columns, what was changed between them, the trend of each figure, time and speed in
// one air, and the jets for this air against the pass where they were right.

import { isOld, todaysAir } from "../car/air.js";
import { breathe } from "../core/breath.js";
import { plain, run, sentence } from "../core/compute.js";
import { el } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { assumedOf } from "../form/read.js";
import { isNumber } from "../form/stored.js";
import { workOut } from "./air.js";
import { airOfPass, inputsOf, leastOf } from "./check.js";
import { buildDifferences, buildOf } from "./compare.js";
import { derived, fieldsOf, passesOf, placeOf, title } from "./told.js";
import { dayInWords, dayOf, differenceInWords, inWords, isGiven, numberInWords, numberOf, plainText, timeOf } from "./values.js";
import { capital } from "../core/words.js";

const MOST_DAYS = 60;
const MOST_RIGHT = 40; // passes among which the one with the right jets is picked
const CALLED = 4; // passes from which on a trend is called one
const TREND = { module: "runs", function: "trend", name: "The trend" };
const JETS = { name: "Jets for this air", module: "board", function: "jet_words", fields: [], results: [{ name: "jet_area_ratio", kind: "ratio" }] };
const STANDARD = "standard";
const TODAY = "today";

const RUN = ["elapsed_time", "speed", "sixty_time", "time_330", "eighth_time", "eighth_speed", "thousand_time", "launch_speed"];
const SET = ["spark", "jet_primary", "jet_secondary", "jets", "plugs", "tyres", "tyre_pressure", "mass"];

export class Board {
  constructor(app, { log }, day) {
    Object.assign(this, { app, log });
    this.form = app.forms.find(({ name }) => name === "same-air");
    this.fields = fieldsOf(app, "pass");
    this.days = [...new Set(passesOf(log).map(({ values }) => dayOf(values)))].filter(Boolean).slice(0, MOST_DAYS);
    this.day = this.days.includes(day) ? day : this.days[0];
    this.box = el("div");
    this.element = el("article", { class: "board" }, el("h1", { tabindex: "-1" }, "Race-day board"), this.box);
    this.stops = [app.units.onChange(() => this.work()), log.onChange(({ records }) => records.size && this.work())];
    this.work();
  }

  // The columns, newest first; what takes a supply check each follows one by one, so that the page answers in between.
  async work() {
    const turn = this.turn = {};
    if (!this.day) return this.box.replaceChildren(el("p", {}, "No pass is jotted yet. The day's passes stand here side by side."));
    const all = passesOf(this.log).filter(({ values }) => dayOf(values) === this.day);
    this.cars = [...new Set(all.map(({ values }) => carOf(values)))];
    if (!this.cars.includes(this.car)) this.car = this.cars[0];
    this.columns = all.filter(({ values }) => carOf(values) === this.car).map((view) => ({ view, values: view.values, air: airOfPass(this.app, view.values), build: null, least: null }));
    for (const column of this.columns) column.build = await buildOf(this.log, column.values);
    if (turn !== this.turn) return;
    this.draw();
    for (const column of this.columns) {
      await breathe();
      if (turn !== this.turn) return;
      column.least = leastOf(this.app, column.values, column.build);
    }
    const right = this.rightPass();
    this.right = right && { view: right, values: right.values, air: airOfPass(this.app, right.values), build: await buildOf(this.log, right.values) };
    if (turn === this.turn) this.draw();
  }

  draw() {
    const air = this.air();
    for (const column of this.columns) column.same = this.same(column, air);
    const places = [...new Set(this.columns.map(({ values }) => placeOf(values)).filter(Boolean))];
    this.clear = [];
    this.table = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The day's passes" }, this.drawTable(air));
    this.box.replaceChildren(...[
      el("p", { class: "intro" }, [dayInWords(this.day), ...places, this.carName()].filter(Boolean).join(" · ")),
      this.drawJets(air), ...this.clear.map((words) => el("p", {}, el("strong", {}, words))), this.table,
      el("p", { class: "help" }, `Bold: changed since the pass before. Trend: the change from pass to pass, with its bounds (19 of 20 times). Times in one air are brought to it by the density of the charge and the cube-root rule: launch, track and wind are not in it.`),
      this.drawChoices(), el("button", { type: "button", class: "print", onclick: () => window.print() }, "Print the board")].filter(Boolean));
  }

  carName() {
    const build = this.car && this.log.get(this.car);
    return build ? plainText(build.values.name ?? "") + (build.values.invented ? " (invented)" : "") : "";
  }

  // Choices

  drawChoices() {
    const cars = this.cars.map((id) => [id, id && this.log.get(id) ? plainText(this.log.get(id).values.name ?? "No name") : "no car"]);
    return el("div", { class: "choices" },
      picker("Day", this.days.map((day) => [day, dayInWords(day)]), this.day, (day) => { this.day = day; this.work(); }),
      cars.length > 1 ? picker("Car", cars, this.car, (car) => { this.car = car; this.work(); }) : null,
      picker("In the air of", this.airs().map(({ name, words }) => [name, words]), this.air().name, (name) => { remember(KEYS.boardAir, name); this.draw(); }),
      this.car ? picker("The car holds", this.control().options.map(({ value, label }) => [value, label]), this.controlOf(this.columns[0]), (word) => this.log.edit(this.car, "build", "boost_control", word)) : null,
      picker("Jets were right on", this.rightOnes(), this.rightPass()?.id ?? "", (id) => this.setRight(id)));
  }

  // The airs to which passes can be brought, the newest pass's first.
  airs() {
    const ofPasses = this.columns.filter(({ air }) => air).map(({ view, air }) => ({ name: view.id, words: title(view), air }));
    const today = todaysAir();
    const now = today && !isOld(today) ? [{ name: TODAY, words: "today, as last worked out", air: today }] : [];
    const usual = (name) => this.form.fields.find((field) => field.name === `${name}_there`).assumed;
    return [...ofPasses, ...now, { name: STANDARD, words: "standard air", air: { pressure: usual("pressure"), temperature: usual("temperature"), humidity: usual("humidity") } }];
  }

  air() {
    const airs = this.airs();
    return airs.find(({ name }) => name === recall(KEYS.boardAir)) ?? airs[0];
  }

  control() {
    return this.form.fields.find(({ name }) => name === "control");
  }

  controlOf({ values, build }) {
    const word = this.log.get(values.build)?.values.boost_control;
    const field = this.control();
    return field.options.some(({ value }) => value === word) ? word : assumedOf(field, () => build?.["charge.blower"] ?? null);
  }

  rightOnes() {
    const fit = passesOf(this.log).filter(({ values }) => carOf(values) === this.car && numberOf(values.boost) !== null && airOfPass(this.app, values)).slice(0, MOST_RIGHT);
    return [["", "no pass picked"], ...fit.map((view) => [view.id, `${title(view)}, ${dayInWords(dayOf(view.values))}`])];
  }

  rightPass() {
    return passesOf(this.log).find(({ values }) => carOf(values) === this.car && values.jets_right === true) ?? null;
  }

  async setRight(id) {
    const before = passesOf(this.log).filter(({ values }) => carOf(values) === this.car && values.jets_right === true);
    for (const view of before) await this.log.edit(view.id, "pass", "jets_right", false);
    if (id) await this.log.edit(id, "pass", "jets_right", true);
  }

  // A pass in another air, or null where its car, boost or air is not known.
  same({ values, build, air }, { air: there }, wanted = null) {
    const boost = numberOf(values.boost);
    if (!build || boost === null || !air || boost < 0) return null;
    const { inputs } = inputsOf(this.app, values, build, boost);
    const asked = { ...inputs.fuel, ...inputs.charge, ...inputs.air, fuel_temperature: inputs.fuel.temperature, temperature: air.temperature, lambda_target: inputs.engine.lambda_target, boost,
      control: this.controlOf({ values, build }), pressure_there: there.pressure, temperature_there: there.temperature, humidity_there: there.humidity,
      elapsed_time: numberOf(values.elapsed_time), speed: numberOf(values.speed), boost_wanted: wanted };
    return run(this.form, asked).results ?? null;
  }

  // Jets

  drawJets(air) {
    const { units } = this.app;
    const box = (...parts) => el("section", { class: "board-jets" }, el("h2", {}, "Jets for this air"), ...parts);
    if (!this.right) return box(el("p", {}, "Say under the board on which pass the jets were right, and this says whether they are for this air."));
    const newest = this.columns.find(({ same }) => same);
    const told = this.same(this.right, air, newest?.same.boost_there ?? null);
    if (!told) return box(el("p", {}, `${title(this.right.view)} has no car, boost or air to go by.`));
    const { results, notes } = run(JETS, { jet_area_ratio: told.jet_area_ratio });
    const words = notes.map((note) => sentence(note, JETS, {}, { jet_area_ratio: told.jet_area_ratio }, units));
    const [then, now] = [this.right.values, this.columns[0].values].map((values) => this.jetsInWords(values));
    const other = then !== now && now ? el("p", {}, el("strong", {}, `${title(this.columns[0].view)} had others in${now}: this is said of those of ${title(this.right.view)}.`)) : null;
    return box(el("p", { class: "first-thing" }, el("strong", {}, `${SHAPES[results.jets]} ${capital(results.jets)}`)), ...words.map((line) => el("p", {}, line)), other,
      el("p", { class: "help" }, `Against ${title(this.right.view)}, ${dayInWords(dayOf(this.right.values))}${this.jetsInWords(this.right.values)}, at ${units.text("gauge_pressure", told.boost_there)} in the air of ${air.words}.`));
  }

  jetsInWords(values) {
    const parts = ["jet_primary", "jet_secondary", "jets"].filter((name) => isGiven(values[name])).map((name) => `${this.fields.get(name).label.toLowerCase()} ${inWords(this.fields.get(name), values[name], this.app.units)}`);
    return parts.length ? ` (${parts.join(", ")})` : "";
  }

  // The table

  drawTable(air) {
    const heads = this.columns.map(({ view, values }) => el("th", { scope: "col" }, el("a", { class: "line-link", href: `#/passes/${view.id}` }, title(view)), el("span", { class: "unit" }, timeOf(values.when))));
    const groups = [["", this.runRows()], [`In the air of ${air.words}`, this.sameRows()], ["Boost and fuel", this.fuelRows()], ["Air", this.airRows()], ["The car", this.carRows()]];
    return el("table", { class: "rows board-table" }, el("thead", {}, el("tr", {}, el("td"), ...heads, el("th", { scope: "col" }, "Trend", el("span", { class: "unit" }, "a pass")))),
      ...groups.filter(([, rows]) => rows.length).map(([name, rows]) => el("tbody", {},
        name ? el("tr", {}, el("th", { scope: "rowgroup", class: "group", colspan: this.columns.length + 2 }, el("span", {}, name))) : null, ...rows)));
  }

  runRows() {
    return RUN.map((name) => this.fieldRow(name));
  }

  sameRows() {
    return [this.numberRow("Time", "time", ({ same }) => same?.elapsed_time_there ?? null, { told: "Time in one air" }), this.numberRow("Speed", "speed", ({ same }) => same?.speed_there ?? null, { told: "Speed in one air" })].filter(Boolean);
  }

  fuelRows() {
    const net = ({ values }) => {
      const [boost, fuel] = [numberOf(values.boost), numberOf(values.fuel_pressure)];
      return boost === null || fuel === null ? null : plain("recording", "net_of", { boost: [boost], fuel: [fuel], drops: [] })[0];
    };
    const lambda = derived(this.app).find(({ name }) => name === "lambda");
    return [this.fieldRow("boost"), this.fieldRow("fuel_pressure", (column) => this.underMark(column)), this.numberRow("Card: at least", "gauge_pressure", ({ least }) => least, { trend: false }),
      this.numberRow("Fuel less boost", "pressure_difference", net, { told: "Fuel pressure less boost" }), this.fieldRow("least_net"), this.numberRow(lambda.label, lambda.kind, ({ values }) => lambda.of(values), { told: "Lambda" })].filter(Boolean);
  }

  underMark({ values, least }) {
    const read = numberOf(values.fuel_pressure);
    return read !== null && least !== null && read < least ? el("strong", { class: "marked" }, "✕ under the card") : null;
  }

  airRows() {
    const of = (name) => ({ values }) => workOut(this.app, values)?.[name] ?? null;
    return [this.numberRow("Density altitude", "elevation", of("density_altitude")), this.numberRow("Pressure here", "absolute_pressure", ({ air }) => air?.pressure ?? null, { trend: false }),
      this.numberRow("Temperature", "temperature", ({ air }) => air?.temperature ?? null, { trend: false })].filter(Boolean);
  }

  carRows() {
    const builds = this.columns.map(({ build }, i) => (build && this.columns[i + 1]?.build ? buildDifferences(this.app, build, this.columns[i + 1].build) : []));
    const changes = builds.map((rows) => rows.map(({ label, now }) => el("strong", { class: "change" }, `${label} ${now}`)));
    const free = ["changed", "seen", "words"].map((name) => this.wordsRow(this.fields.get(name).label, this.columns.map(({ values }) => [isGiven(values[name]) ? el(name === "changed" ? "strong" : "span", {}, plainText(values[name])) : null])));
    return [...SET.map((name) => this.setRow(name)), this.wordsRow("Changed in Build", changes), ...free].filter(Boolean);
  }

  fieldRow(name, mark = () => null) {
    const field = this.fields.get(name);
    return this.row(field.label, this.columns.map((column) => (isGiven(column.values[name]) ? [inWords(field, column.values[name], this.app.units), mark(column)] : null)),
      this.trendOf(field.kind, this.columns.map(({ values }) => numberOf(values[name]))));
  }

  // `told`: its trend is told above the table, where it is clear.
  numberRow(label, kind, of, { trend = true, told = null } = {}) {
    const values = this.columns.map(of);
    const found = trend ? this.trendOf(kind, values) : null;
    if (told && found && /[▲▼]/.test(found.word)) this.clear.push(`${found.word[0]} ${told} ${found.word.slice(2)}: ${found.each} a pass (${found.bounds}).`);
    return this.row(label, values.map((si) => (si === null ? null : [numberInWords(kind, si, null, this.app.units)])), found);
  }

  // What the crew sets: bold where it is another than on the pass before.
  setRow(name) {
    const field = this.fields.get(name);
    const words = this.columns.map(({ values }) => (isGiven(values[name]) ? inWords(field, values[name], this.app.units) : null));
    const cells = words.map((now, i) => {
      const before = words.slice(i + 1).find((then) => then !== null) ?? now;
      return now === null ? null : [now === before ? now : el("strong", { class: "change" }, now)];
    });
    return this.row(field.label, cells, null, isNumber(field) ? "number" : "words");
  }

  wordsRow(label, cells) {
    return this.row(label, cells.map((parts) => (parts.some(Boolean) ? parts : null)), null, "words");
  }

  row(label, cells, trend, style = "number") {
    if (cells.every((cell) => cell === null)) return null;
    const parts = trend ? [el("strong", {}, trend.each), el("span", {}, trend.bounds), el("span", {}, trend.word)] : [];
    return el("tr", {}, el("th", { scope: "row" }, label), ...cells.map((inside) => el("td", { class: style }, el("div", {}, ...(inside ?? ["–"]).filter(Boolean)))), el("td", { class: "trend" }, ...parts));
  }

  // How a figure moves from pass to pass, in words; nothing for fewer than three.
  trendOf(kind, values) {
    const known = values.map((y, x) => ({ x, y })).filter(({ y }) => y !== null);
    const told = known.length < 3 ? null : run(TREND, { x: known.map(({ x }) => x), y: known.map(({ y }) => y) }).results;
    if (!told?.enough) return null;
    const { units } = this.app;
    // The columns run back in time.
    const [each, ...bounds] = [told.robust_slope, told.slope_high, told.slope_low].map((slope) => differenceInWords(kind, -slope, units));
    const word = known.length < CALLED ? "few passes" : told.slope_high < 0 ? "▲ rises" : told.slope_low > 0 ? "▼ falls" : "not clear";
    return { each: `${each} ${units.of(kind).name}`.trim(), bounds: bounds.join(" to "), word };
  }

  stop() {
    this.turn = null;
    for (const stop of this.stops) stop();
  }
}

const SHAPES = { leave: "●", "one size larger": "▲", "one size smaller": "▼" };
const carOf = (values) => (typeof values.build === "string" ? values.build : "");

function picker(label, options, chosen, choose) {
  const select = el("select", { onchange: () => choose(select.value) }, ...options.map(([value, words]) => el("option", { value }, words)));
  select.value = chosen;
  return el("label", { class: "pick-one" }, el("span", {}, label), select);
}
