// Two drinks side by side, and one item for another; both where the service answers them.

import { allEntries, asked, inWords, sent } from "./client.js";
import { candidates } from "./items.js";
import { el, listed, panel, spoken, table } from "./markup.js";
import { specOf } from "./spec.js";

const ROWS = [["abv_percent", "Strength, % vol"], ["ethanol_g", "Alcohol, g"], ["undiluted_ml", "Before ice, ml"], ["water_added_ml", "Water from ice, ml"],
  ["liquid_ml", "In the glass, ml"], ["sugars_g", "Sugars, g"], ["acid_g", "Acids, g"], ["energy_kcal", "Energy, kcal"], ["minutes", "Minutes of work"], ["use_by_days", "Keeps, days"]];
const HOLD = [["ethanol", "Alcohol"], ["sugars", "Sugars"], ["acid", "Acidity by titration"], ["volume", "Volume"]];

const STATES = [["contains", "Contains"], ["may_contain", "May contain"], ["unknown", "Not known"], ["partly_unknown", "Contains, which others not known"], ["gained", "Gained"], ["lost", "Lost"]];

const shown = (value) => (value === null || value === undefined ? "not known" : String(value));

export function comparedTable(caption, drinks) {
  const rows = ROWS.map(([name, said]) => [said, ...drinks.map((drink) => shown(drink[name]))]);
  if (drinks.every((drink) => drink.money)) {
    rows.push(["Cost", ...drinks.map(({ money }) => money.pour_cost === null ? "not known" : `${money.pour_cost} ${money.currency}`)],
      ["Price to ask", ...drinks.map(({ money }) => money.suggested_price === null ? "none" : `${money.suggested_price} ${money.currency}`)]);
  }
  // Places by whose rules the same is said of every drink stand together.
  const places = [...new Set(drinks.flatMap((drink) => (drink.allergens || []).map((row) => row.jurisdiction)))];
  const told = new Map();
  for (const place of places) {
    const own = drinks.map((drink) => drink.allergens.find((row) => row.jurisdiction === place));
    const said = JSON.stringify(own.map((row) => row && STATES.map(([state]) => row[state])));
    told.set(said, { own, at: [...(told.get(said)?.at || []), place] });
  }
  for (const { own, at } of told.values()) {
    for (const [state, said] of STATES) {
      if (own.some((row) => row?.[state]?.length)) rows.push([`${said} (${listed(at)})`, ...own.map((row) => row?.[state]?.length ? listed(row[state].map(spoken)) : "–")]);
    }
  }
  return table(caption, ["Figure", ...drinks.map((drink) => drink.name)], rows, "side");
}

const notes = (rows) => (rows || []).map((note) => el("p", { class: "quiet" }, note));

async function bothOf(drinks) {
  // The answer and its drawing, which the service keeps from the same answer; as an image it can run nothing.
  const more = { method: "POST", body: { drinks } };
  const answer = await asked("v1/compare", more);
  const drawing = await (await sent("v1/compare", { ...more, headers: { Accept: "image/svg+xml" } })).text();
  const words = `Bars of ${listed(drinks.map((one) => one.drink.name))} side by side; every figure stands in the table below.`;
  return { ...answer, picture: el("p", {}, el("img", { class: "drawing", alt: words, src: `data:image/svg+xml,${encodeURIComponent(drawing)}` })) };
}

class Unclear extends Error {
  // What was written names no one thing.
}

export class Comparing {
  constructor(desk) { this.desk = desk; this.turn = 0; }

  async latest(out, said, ask) {
    // What was asked last is shown, whichever answer comes last; meanwhile it says what it waits for.
    const turn = this.turn += 1;
    out.replaceChildren(el("p", { class: "quiet" }, said));
    try {
      const parts = await ask();
      if (turn === this.turn) out.replaceChildren(...parts);
    } catch (fault) {
      if (turn === this.turn) out.replaceChildren(el("p", { class: "fault" }, fault instanceof Unclear ? fault.message : inWords(fault)));
    }
  }

  ready() {
    const { answer, left } = this.desk;
    if (answer && !left.length) return true;
    this.desk.say("First every line has to be read.");
    return false;
  }

  async body() { return this.desk.question(await this.desk.read()); }

  async compare() {
    if (!this.ready()) return;
    const turn = this.turn += 1;
    try {
      const entries = await allEntries("drinks");
      if (turn !== this.turn) return;
      const choice = el("select", { id: "other" }, entries.map((entry) => el("option", { value: entry.id }, entry.body.name)));
      const out = el("div", { role: "status" });
      const act = () => this.latest(out, "Comparing.", async () => {
        const mine = await this.body();
        const drink = specOf(entries.find((entry) => entry.id === choice.value).body);
        const { bands: _, ...first } = mine;
        const answer = await bothOf([first, { ...first, drink }]);
        return [answer.picture, comparedTable("Side by side, one serve each", answer.drinks), ...notes(answer.notes)];
      });
      panel("Compare", entries.length ? [el("p", { class: "row" }, el("label", { for: "other" }, "With"), choice,
        el("button", { type: "button", onclick: act }, "Show both")), out] : el("p", {}, "The catalogue holds no drink to compare with."));
      choice.focus();
    } catch (fault) { this.desk.say(inWords(fault)); }
  }

  swap() {
    if (!this.ready()) return;
    this.turn += 1;
    const poured = this.desk.answer.lines.map((line, number) => ({ ...line, place: this.desk.sent[number] })).filter((line) => line.role === "pour" || line.role === "top");
    const item = el("select", { id: "swap-item" }, poured.map((line) => el("option", { value: line.item }, line.name)));
    const by = el("input", { id: "swap-by", maxlength: 100, autocomplete: "off" });
    const helper = el("input", { id: "swap-helper", maxlength: 100, autocomplete: "off", "aria-describedby": "swap-helper-note" });
    const boxes = HOLD.map(([value, text], number) => el("label", { class: "tick" }, el("input", { type: "checkbox", value, checked: !number }), ` ${text}`));
    const out = el("div", { role: "status" });
    panel("Swap an item",
      el("div", { class: "fields" }, el("p", {}, el("label", { for: "swap-item" }, "Take out"), item), el("p", {}, el("label", { for: "swap-by" }, "Pour instead"), by),
        el("p", {}, el("label", { for: "swap-helper" }, "May be added"), helper, el("span", { class: "quiet", id: "swap-helper-note" }, "such as water; leave empty if nothing"))),
      el("fieldset", {}, el("legend", {}, "Hold as it is"), boxes),
      el("p", {}, el("button", { type: "button", onclick: () => this.solve(item.value, by.value, helper.value, boxes, out) }, "Solve")), out);
    item.focus();
  }

  async named(text) {
    const found = await candidates(text);
    if (found.item) return found.item.id;
    throw new Unclear(found.rows.length ? `Which one is "${text}"? ${found.rows.slice(0, 5).map((row) => row.name).join("; ")}.` : `Nothing is called "${text}".`);
  }

  async solve(item, by, helper, boxes, out) {
    const hold = boxes.map((label) => label.querySelector("input")).filter((box) => box.checked).map((box) => box.value);
    if (!by.trim() || !hold.length) { out.replaceChildren(el("p", { class: "fault" }, "Name what is poured instead, and tick what is held.")); return; }
    await this.latest(out, "Solving.", async () => {
      const [other, ...helpers] = await Promise.all([by, helper].filter((text) => text.trim()).map((text) => this.named(text)));
      const { bands: _, ...body } = await this.body();
      const answer = await asked("v1/substitute", { method: "POST", body: { ...body, item, by: other, hold, helpers } });
      const take = el("button", { type: "button", onclick: () => this.take(answer.drink) }, "Take it over");
      return [
        el("p", { class: answer.solved ? "" : "serious" }, answer.solved ? "What was to be held is held." : answer.unmet.map((row) => row.detail).join(" ")),
        table("Amounts", ["Item", "Before", "After"], answer.amounts.map((row) => [spoken(row.item), `${row.before} ${row.unit}`, `${row.after} ${row.unit}`])),
        table("Held", ["Figure", "Before", "After"], answer.held.map((row) => [spoken(row.figure), `${shown(row.before)} ${row.unit}`, `${shown(row.after)} ${row.unit}`])),
        comparedTable("Before and after, one serve", answer.compared), ...notes(answer.notes), el("p", {}, take)];
    });
  }

  async take(drink) {
    const { desk } = this;
    const state = await desk.shelf.stateOfDrink({ ...desk.state.rest, ...drink, id: desk.state.id });
    desk.show({ ...state, name: desk.state.name });
    desk.changed("");
    desk.say("Taken over; Undo brings the old one back.");
  }
}
