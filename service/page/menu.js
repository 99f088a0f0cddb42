// A menu: what each drink leaves, as far as the key may see it, and its allergens as a matrix.

import { allEntries, asked, inWords, orNothing } from "./client.js";
import { at, el, listed, options, spoken, table } from "./markup.js";
import { MenuForm } from "./menuform.js";
import { access } from "./venues.js";

const MARKS = [["partly_unknown", "yes, ?"], ["contains", "yes"], ["may_contain", "may"], ["unknown", "?"]];

async function groupsOf(place) {
  // Members of each group of allergens there, over all that is held: what is open of a group is open of each of them.
  // Where each member is listed by itself, the groups are those of the European Union.
  const held = async (code) => asked(`v1/reference/jurisdictions/${encodeURIComponent(code)}`);
  let detail = await held(place);
  if (!detail.rules.allergens?.length && detail.fallback) detail = await held(detail.fallback);
  const groups = (found) => (found.rules.allergens || []).flatMap((entry) => Object.entries(entry.members));
  return groups(detail).length ? groups(detail) : groups(await held("EU"));
}

function leftOpen(declared, allergen, groups) {
  // Whether the group of an allergen that nobody names leaves it open which of its members are in the drink.
  const says = (state, key) => (declared[state] || []).includes(key);
  return groups.some(([group, members]) => members.includes(allergen) && (says("unknown", group) || says("partly_unknown", group)
    || ["contains", "may_contain"].some((state) => says(state, group) && !members.some((one) => says(state, one)))));
}

function exempted(declared, allergen, groups) {
  // Whether it is exempt by what was done to it: under its own name, as the group of one that is, or with the whole of its group.
  const told = declared.exempt.map((one) => one.allergen);
  return told.includes(allergen) || groups.some(([group, members]) => group === allergen
    ? members.some((one) => told.includes(one)) : members.includes(allergen) && told.includes(group));
}

function isOpen({ row, declared }) {
  // Whether something of a drink is not known: it has no answer, an allergen or others of its group are unknown, or a declaration is to be renewed.
  return !declared || declared.unknown.length > 0 || declared.partly_unknown.length > 0 || row.allergens.evidence.some((one) => one.state === "stale");
}

async function pages(path) {
  // Every row of a bulk answer, or null where the key may not have it.
  const rows = [];
  let token = "";
  do {
    const page = await orNothing(asked(`${path}&page_size=100${token && `&page_token=${encodeURIComponent(token)}`}`), 403);
    if (!page) return null;
    rows.push(...page.drinks);
    token = page.next_page_token;
  } while (token);
  return rows;
}

export class MenuView {
  constructor() {
    this.turn = 0;
    this.form = new MenuForm((text) => { at("menu-state").textContent = text; }, (id) => this.start(id));
    at("menu-choice").addEventListener("change", () => this.run());
    at("menu-place").addEventListener("change", () => this.matrix());
    at("menu-new").addEventListener("click", () => this.write());
    at("menu-change").addEventListener("click", () => this.write(at("menu-choice").value));
  }

  async write(menu = null) {
    try { await this.form.begin(this.drinks, menu); } catch (fault) { at("menu-state").textContent = inWords(fault); }
  }

  keyChanged() { this.form.close(false); }

  async start(chosen = at("menu-choice").value) {
    const turn = this.turn += 1;
    at("menu-answer").replaceChildren();
    at("menu-state").textContent = "Looking for menus.";
    try {
      const [menus, drinks, { may }] = await Promise.all([allEntries("menus"), allEntries("drinks", 5000), access()]);
      if (turn !== this.turn) return;
      this.menus = menus;
      this.names = new Map(drinks.map((entry) => [entry.id, entry.body.name]));
      options(at("menu-choice"), menus.map((entry) => [entry.id, entry.body.name]), chosen);
      this.drinks = this.form.drinks = drinks;
      const writes = may("catalogue:write");
      at("menu-change").hidden = !writes || !menus.length;
      at("menu-new").hidden = !writes || !drinks.length;
      const next = drinks.length ? "Write one." : "Keep a drink on the desk first.";
      at("menu-state").textContent = menus.length ? "" : `The catalogue holds no menu yet. ${writes ? next : "Who may write to it writes one."}`;
      if (menus.length) await this.run();
    } catch (fault) { if (turn === this.turn) at("menu-state").textContent = inWords(fault); }
  }

  async run() {
    const turn = this.turn += 1;
    const menu = this.menus.find((entry) => entry.id === at("menu-choice").value).body;
    const query = `menu=${encodeURIComponent(menu.id)}${menu.venue ? `&venue=${encodeURIComponent(menu.venue)}` : ""}`;
    at("menu-state").textContent = "Asking for every drink.";
    at("menu-answer").replaceChildren();
    try {
      const [costs, labels] = await Promise.all([pages(`v1/costs?${query}`), pages(`v1/labels?${query}`)]);
      const margins = costs ? costs.map(fromCost) : await this.margins(menu, query, turn);
      if (turn !== this.turn) return;
      this.shown = { menu, margins, labels };
      const places = [...new Set((labels || []).flatMap((row) => (row.allergens?.declarations || []).map((one) => one.jurisdiction)))];
      const groups = new Map(await Promise.all(places.map(async (one) => [one, await groupsOf(one)])));
      if (turn !== this.turn) return;
      this.groups = groups;
      options(at("menu-place"), places.map((place) => [place, place]), at("menu-place").value);
      at("menu-place").disabled = !places.length;
      this.draw();
    } catch (fault) { if (turn === this.turn) at("menu-state").textContent = inWords(fault); }
  }

  async margins(menu, query, turn) {
    // Drink by drink, for a key that sees margins and no costs; null at the first refusal.
    const rows = [];
    for (const entry of menu.entries) {
      if (turn !== this.turn) return null;
      const more = entry.with?.length ? `&with=${entry.with.map(encodeURIComponent).join(",")}` : "";
      const row = await orNothing(asked(`v1/drinks/${encodeURIComponent(entry.drink)}/margin?${query}${more}`), 403, 422);
      if (!row) return rows.length ? rows : null;
      rows.push({ drink: entry.drink, with: entry.with || [], currency: row.currency, pour: row.pour_cost, now: row.at_menu_price, suggested: row.suggested });
    }
    return rows;
  }

  called(row) { return [this.names.get(row.drink) || spoken(row.drink), ...(row.with || []).map(spoken)].join(", "); }

  draw() {
    const { menu, margins, labels } = this.shown;
    const parts = [];
    if (margins) parts.push(this.marginTable(menu, margins));
    else if (menu.entries.some((entry) => entry.menu_price)) parts.push(table("Menu prices", ["Drink", "Price"], menu.entries.map((entry) => [this.called(entry), entry.menu_price || "none"])));
    if (labels) parts.push(el("div", { id: "matrix" }));
    at("menu-answer").replaceChildren(...parts);
    at("menu-state").textContent = parts.length ? "" : "This key sees neither margins nor labels.";
    if (labels) this.matrix();
  }

  marginTable(menu, margins) {
    const known = (value, unit) => (value === null || value === undefined ? "not known" : `${value} ${unit}`);
    const below = margins.filter((row) => row.now?.meets_target === false).length;
    return el("section", {}, el("h2", {}, "Margins"), below ? el("p", {}, `${below} of ${margins.length} below the target.`) : null,
      table("What each drink leaves at its price on this menu", ["Drink", "Price", "Cost", "Margin", "Target", "Price to ask"], margins.map((row) => row.problem
        ? [this.called(row), row.problem.detail, "", "", "", ""]
        : [this.called(row), row.now ? `${row.now.menu_price} ${row.currency}` : "none", known(row.pour, row.currency), row.now ? known(row.now.gross_margin_percent, "%") : "not known",
          !row.now || row.now.meets_target === null ? "–" : row.now.meets_target ? "met" : el("strong", {}, "below"), row.suggested ? `${row.suggested} ${row.currency}` : "none"]), "sums"));
  }

  matrix() {
    const place = at("menu-place").value;
    const box = at("matrix");
    if (!box) return;
    const rows = this.shown.labels.map((row) => ({ row, declared: (row.allergens?.declarations || []).find((one) => one.jurisdiction === place) }));
    const keys = [...new Set(rows.flatMap(({ declared }) => declared ? [...MARKS.flatMap(([state]) => declared[state] || []), ...declared.exempt.map((one) => one.allergen)] : []))].sort();
    const groups = this.groups.get(place) || [];
    const mark = (declared, allergen) => MARKS.find(([state]) => (declared[state] || []).includes(allergen) && (state !== "partly_unknown" || declared.contains.includes(allergen)))?.[1]
      || (leftOpen(declared, allergen, groups) ? "?" : exempted(declared, allergen, groups) ? "ex" : "");
    const assessed = rows.every(({ declared }) => declared?.cross_contact === "assessed");
    const legend = "yes: contains; may: may contain; ?: not known; ex: exempt from declaration by what was done to it, such as distilling, and not to be read as free of it; empty: nothing declares it, which is no promise that it is free of it.";
    box.replaceChildren(el("section", {}, el("h2", {}, "Allergens"),
      el("p", { class: "quiet" }, legend), assessed ? null : el("p", { class: "serious" }, "Cross-contact was not assessed for every drink: nothing is said of traces."),
      el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Allergens of each drink" }, el("table", { class: "matrix" }, el("caption", { class: "hidden" }, "Allergens of each drink"),
        el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "Drink"), keys.map((allergen) => el("th", { scope: "col", class: "turned" }, el("span", {}, spoken(allergen)))))),
        el("tbody", {}, rows.map(({ row, declared }) => el("tr", {}, el("th", { scope: "row" }, this.called(row)), declared
          ? keys.map((allergen) => el("td", {}, mark(declared, allergen))) : el("td", { colspan: keys.length || 1 }, `not known${row.problem ? `: ${row.problem.detail}` : ""}`)))))),
      el("p", { class: "quiet" }, `${listed(rows.filter(isOpen).map(({ row }) => this.called(row))) || "No drink"} with something not known. Check local codes; ask before you serve a guest with an allergy.`)));
  }
}

const fromCost = (row) => ({ drink: row.drink, with: row.with, problem: row.problem, currency: row.cost?.currency, pour: row.cost?.pour_cost,
  now: row.price?.at_menu_price, suggested: row.price?.suggested });
