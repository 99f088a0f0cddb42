// The answer in words and pictures. Nothing is computed or rounded here; what is not known is said to be so.

import { el, listed, spoken, table } from "./markup.js";
import { barOf, countOf, glassOf, scaleOf } from "./pictures.js";

const NOT_KNOWN = "not known";

const figure = (value, unit) => (value === null || value === undefined ? NOT_KNOWN : `${value} ${unit}`);
const section = (title, ...parts) => el("section", {}, el("h2", {}, title), parts);
const quiet = (...words) => el("p", { class: "quiet" }, words);

function namesOf(answer) {
  const names = new Map([...answer.lines.map((line) => [line.item, line.name]),
    ...(answer.preparations || []).map((part) => [part.id, part.name])]);
  return (id) => names.get(id) || spoken(id);
}

export function headline(answer, left) {
  // One sentence, read out by screen readers as the answer changes.
  const words = [];
  const { alcohol, cost, allergens, advisories = [], warnings = [] } = answer;
  if (alcohol) words.push(alcohol.abv_percent === null ? "strength not known" : `${alcohol.abv_percent} % vol`);
  words.push(answer.serve.liquid_ml === null ? "volume not known" : `${answer.serve.liquid_ml} ml`);
  if (cost) words.push(cost.pour_cost === null ? "cost not known" : `costs ${cost.pour_cost} ${cost.currency}`);
  const declared = allergens?.declarations[0];
  if (declared) {
    words.push(declared.contains.length ? `contains ${listed(declared.contains.map(spoken))}` : "no allergen known to be contained");
    if (declared.may_contain.length) words.push(`may contain ${listed(declared.may_contain.map(spoken))}`);
    if (declared.unknown.length) words.push(`not known of ${listed(declared.unknown.map(spoken))}`);
    if (declared.partly_unknown.length) words.push(`not known which other ${listed(declared.partly_unknown.map(spoken))}`);
  }
  const count = advisories.length + warnings.length;
  if (count) words.push(`${count} to read below`);
  const text = `${words.join(", ")}.`;
  return (left.length ? `Without ${lineWords(left)}: ` : "") + (left.length ? text : text[0].toUpperCase() + text.slice(1));
}

export const lineWords = (places) => `line${places.length > 1 ? "s" : ""} ${listed(places.map((place) => place + 1))}`;

export function answerOf(answer, left) {
  const name = namesOf(answer);
  return [
    left.length ? el("p", { class: "serious" }, el("strong", {}, `${lineWords(left)[0].toUpperCase()}${lineWords(left).slice(1)} not read yet. `),
      "These figures are of the drink without it. Its allergens and its alcohol are not in them.") : null,
    strengthOf(answer), moneyOf(answer, name), allergensOf(answer, name, left), energyOf(answer), waterOf(answer), cautionsOf(answer, name),
  ].filter(Boolean);
}

function strengthOf({ alcohol }) {
  if (!alcohol) return null;
  const band = alcohol.band?.abv_percent;
  const parts = [];
  if (alcohol.abv_percent === null) {
    const least = alcohol.at_least?.abv_percent;
    parts.push(el("p", {}, el("span", { class: "figure" }, "Not known"), least ? `, at least ${least} % vol` : ""));
    parts.push(quiet(missing(alcohol.missing)));
  } else {
    parts.push(el("p", {}, el("span", { class: "figure" }, `${alcohol.abv_percent} % vol`),
      band ? ` (${band.low} to ${band.high}, ${band.coverage})` : ""), scaleOf(alcohol.abv_percent, band));
    if (band?.driver) parts.push(quiet(`Most of the doubt is in the ${spoken(band.driver.input)} of ${spoken(band.driver.item)}.`));
  }
  if (alcohol.range) parts.push(quiet("What may be poured instead makes it weaker or stronger; the service answers the range."));
  const drinks = alcohol.standard_drinks.map((row) => el("li", {},
    row.count === null ? null : countOf(row.count, row.text || `${row.count} standard drinks`),
    el("span", {}, `${row.jurisdiction}: ${row.text || (row.count === null ? NOT_KNOWN : `${row.count} standard drinks`)}`)));
  return section("Strength", parts, drinks.length ? [el("h3", {}, "Standard drinks in one serve"), el("ul", { class: "counts" }, drinks)] : null);
}

const fieldWords = (field) => spoken(field.replace(/_(g|percent|ml)$/, "").replace(/^abv$/, "strength"));

const missing = (rows) => (rows?.length ? `Not known: ${listed([...new Set(rows.map((row) => `${fieldWords(row.field)} of ${spoken(row.item)}`))])}.` : "");

function moneyOf({ cost, price, lines }, name) {
  if (!cost) return null;
  const parts = [];
  const money = (sum) => (sum === null ? NOT_KNOWN : `${sum} ${cost.currency}`);
  const band = cost.band?.pour_cost;
  const most = cost.pour_cost === null ? `, at least ${money(cost.at_least?.pour_cost ?? null)}` : "";
  parts.push(el("p", {}, el("span", { class: "figure" }, cost.pour_cost === null ? "Cost not known" : money(cost.pour_cost)),
    cost.pour_cost === null ? most : " for what is poured", band ? ` (${band.low} to ${band.high}, ${band.coverage})` : ""));
  if (cost.missing.length) {
    parts.push(quiet(`No price is known for ${listed([...new Set(cost.missing.map((row) => name(row.item)))])}.`));
  }
  if (price) parts.push(priceOf(price));
  const rows = lines.filter((line) => line.cost !== null && line.cost !== undefined).map((line) => [line.name, exact(line.cost),
    line.cost_share_percent === null ? "" : [barOf(Number(line.cost_share_percent), `${line.cost_share_percent} % of the cost`), ` ${line.cost_share_percent} %`]]);
  if (rows.length) parts.push(table(`What each line costs, ${cost.currency}`, ["Line", "Cost", "Share"], rows, "costs"));
  return el("section", { class: "money" }, el("h2", {}, "Cost and price"), parts);
}

// A line's cost comes exact; only noughts at its end are left out.
const exact = (text) => text.replace(/(\.\d\d\d*?)0+$/, "$1");

function priceOf(price) {
  const rows = [];
  const now = price.at_menu_price;
  if (price.suggested) rows.push(["Price to ask", `${price.suggested} ${price.currency}`],
    ["Margin on it", `${price.gross_margin_percent} %, pour cost ${price.pour_cost_percent} %`]);
  if (now) rows.push(["On the menu", `${now.menu_price} ${price.currency}`],
    ["Margin there", `${now.gross_margin_percent} %, pour cost ${now.pour_cost_percent} %${now.meets_target === null ? "" : now.meets_target ? "; meets the target" : "; below the target"}`]);
  return el("dl", { class: "pairs" }, rows.map(([term, text]) => [el("dt", {}, term), el("dd", {}, text)]));
}

function allergensOf({ allergens }, name, left) {
  if (!allergens) return null;
  // Places whose statement is the same word for word stand together.
  const told = new Map();
  for (const row of allergens.declarations) {
    const place = JSON.stringify([row.statement, row.rules_held, row.cross_contact]);
    told.set(place, [...(told.get(place) || []), row]);
  }
  const declared = [...told.values()].map((rows) => [el("h3", {}, `By the rules of ${listed(rows.map((row) => row.jurisdiction))}`),
    el("p", { class: "statement" }, rows[0].statement), rows[0].rules_held ? null : quiet("No rules of this place are held; another list stands in."),
    rows[0].cross_contact === "assessed" ? null : quiet("Cross-contact was not assessed: nothing is said of traces.")]);
  const routes = allergens.routes.map((route) => [spoken(route.allergen), spoken(route.state),
    [...route.path.slice(1).map(name), ...(route.equipment ? [route.equipment] : [])].join(", in ") || "the drink itself"]);
  return section("Allergens",
    left.length ? el("p", { class: "serious" }, `Not known: whatever ${lineWords(left)} ${left.length > 1 ? "hold" : "holds"}.`) : null, declared,
    routes.length ? table("Where each comes from", ["Allergen", "State", "Through"], routes) : null);
}

function energyOf({ nutrition }) {
  if (!nutrition) return null;
  const one = nutrition.per_serve;
  const known = (field, unit) => one[field] === null && one.at_least?.[field] !== undefined
    ? `${NOT_KNOWN}, at least ${one.at_least[field]} ${unit}` : figure(one[field], unit);
  const joules = one.energy_kj === null || one.energy_kj === undefined ? "" : `, ${one.energy_kj} kJ`;
  const rows = [["Energy", known("energy_kcal", "kcal") + joules], ["Sugars", known("sugars_g", "g")], ["Alcohol", known("alcohol_g", "g")]];
  return section("Energy of one serve", el("dl", { class: "pairs" }, rows.map(([term, text]) => [el("dt", {}, term), el("dd", {}, text)])),
    nutrition.missing.length ? quiet(missing(nutrition.missing)) : null);
}

function waterOf({ serve }) {
  const rows = [["Before ice", figure(serve.undiluted_ml, "ml")], ["Water from ice", figure(serve.water_added_ml, "ml")], ["In the glass", figure(serve.liquid_ml, "ml")],
    ["Wash line", serve.washline_percent === null ? "not known: give the glass and its ice" : `at ${serve.washline_percent} % of the brim`]];
  if (serve.foam_ml) rows.push(["Foam", `${serve.foam_ml} ml`]);
  return section("Glass and water", el("div", { class: "glass" }, glassOf(serve), el("dl", { class: "pairs" },
    rows.map(([term, text]) => [el("dt", {}, term), el("dd", {}, text)]))), serve.dilution?.source ? quiet(`Water: ${serve.dilution.source}.`) : null);
}

function cautionsOf({ advisories = [], warnings = [], use_by: life }, name) {
  const rows = [...advisories.map((row) => el("li", { class: row.level === "serious" ? "serious" : "caution" },
    row.level === "serious" ? el("strong", {}, "Caution. ") : "", row.text, row.items?.length ? ` (${listed(row.items.map(name))})` : "", " ", row.deferral)),
  ...warnings.map((row) => el("li", { class: "caution" }, row.detail || row.text || spoken(row.code)))];
  if (life?.days !== undefined && life?.days !== null) rows.push(el("li", {}, `Keeps ${life.days} ${life.days === 1 ? "day" : "days"}: ${life.reason}.`));
  return rows.length ? section("To read", el("ul", { class: "bare" }, rows)) : null;
}

export function statutoryOf({ nutrition, alcohol, allergens }) {
  // What labels and menus have to say; printed, and not shown on the screen.
  const parts = [];
  for (const row of alcohol?.label || []) if (row.text) parts.push(el("p", {}, `${row.jurisdiction}: ${row.text}`));
  for (const row of alcohol?.statements || []) parts.push(el("p", {}, `${row.jurisdiction}: ${row.text}`));
  for (const row of allergens?.declarations || []) parts.push(el("p", {}, `${row.jurisdiction}: ${row.statement}`));
  // One table for each place, a column for each basis; energy in two units stands in one row.
  const places = new Map();
  for (const row of nutrition?.declared || []) {
    const rows = places.get(row.jurisdiction) || new Map();
    const cells = rows.get(row.label) || {};
    const text = row.text ?? NOT_KNOWN;
    cells[row.basis] = cells[row.basis] && cells[row.basis] !== text ? `${cells[row.basis]} / ${text}` : text;
    places.set(row.jurisdiction, rows.set(row.label, cells));
  }
  for (const [place, rows] of places) {
    const bases = [...new Set([...rows.values()].flatMap((cells) => Object.keys(cells)))];
    parts.push(table(`Nutrition declaration, ${place}`, ["Nutrient", ...bases.map(spoken)],
      [...rows].map(([label, cells]) => [label, ...bases.map((basis) => cells[basis] ?? "")]), "panel"));
  }
  return parts.length ? el("section", { class: "statutory" }, el("h2", {}, "For the label"), parts) : null;
}
