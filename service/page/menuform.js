// A menu as it is written: its name, venue and days, and its drinks in their order, each with price, section and days.

import { inWords, Refusal, sent } from "./client.js";
import { slug } from "./items.js";
import { at, el, options, spoken } from "./markup.js";
import { access, venuesKnown } from "./venues.js";

const MOST = 500;
const HEADS = ["Drink", "Price", "Section", "First day", "Last day", "Order"];
const DAYS = [["valid_from", "First day"], ["valid_to", "Last day"]];

export class MenuForm {
  // `say` tells the view's status line; `made(id)` is called once a menu is kept.
  constructor(say, made) {
    Object.assign(this, { say, made, drinks: [], rows: [], body: null, etag: "", turn: 0 });
    at("menu-form").addEventListener("submit", (event) => { event.preventDefault(); this.keep(); });
    at("menu-add").addEventListener("click", () => { this.add({}).drink.focus(); });
    at("menu-leave").addEventListener("click", () => this.close());
  }

  async begin(drinks, menu = null) {
    // Opens the form, empty or with a menu as it is held now.
    const turn = this.turn += 1;
    this.drinks = drinks;
    const [{ venues }, { venue: own }, held] = await Promise.all([venuesKnown(), access(), menu && sent(`v1/menus/${encodeURIComponent(menu)}`)]);
    const body = held ? await held.json() : null;
    if (turn !== this.turn) return;
    this.etag = held ? held.headers.get("ETag") : "";
    this.body = body;
    const { name = "", venue = "", entries = [] } = this.body || { venue: own };
    at("menu-form-title").textContent = held ? `Change ${name}` : "A new menu";
    at("menu-name").value = name;
    for (const [field] of DAYS) at(`menu-${field}`).value = this.body?.[field] || "";
    at("menu-venue-box").hidden = !venues.length && !venue;
    const known = venues.map((one) => [one.id, one.name]);
    if (venue && !known.some(([id]) => id === venue)) known.push([venue, venue]);
    options(at("menu-venue"), [["", "every one"], ...known], venue);
    at("menu-public").checked = Boolean(this.body?.prices_public);
    this.rows = [];
    at("menu-entries").replaceChildren();
    for (const entry of entries.length ? entries : [{}]) this.add(entry);
    this.tell();
    at("menu-box").hidden = false;
    at("menu-name").focus();
  }

  get open() { return !at("menu-box").hidden; }

  close(focus = true) {
    this.turn += 1;
    at("menu-box").hidden = true;
    this.tell();
    if (focus) (at("menu-change").hidden ? at("menu-new") : at("menu-change")).focus();
  }

  tell(...words) { at("menu-said").replaceChildren(...words); }

  nameOf(id) { return this.drinks.find((entry) => entry.id === id)?.body.name || spoken(id); }

  add(entry) {
    // One more drink of the menu; what its line says besides, such as a till's id, stays with it as long as its drink does.
    if (this.rows.length >= MOST) { this.tell(`A menu holds ${MOST} drinks at most.`); return this.rows[MOST - 1]; }
    const row = { entry, faults: new Map(), with: [] };
    const typed = (name, more) => el("input", { autocomplete: "off", ...more, value: entry[name] ?? "", oninput: () => this.mark(row, name, "") });
    row.drink = el("select", { onchange: () => { this.mark(row, "drink", ""); this.modify(row); this.number(); } });
    const known = this.drinks.map((one) => [one.id, one.body.name]);
    if (entry.drink && !known.some(([id]) => id === entry.drink)) known.push([entry.drink, spoken(entry.drink)]);
    options(row.drink, [["", "choose a drink"], ...known], entry.drink || "");
    row.menu_price = typed("menu_price", { inputmode: "decimal", maxlength: 12, class: "price" });
    row.section = typed("section", { maxlength: 200, list: "menu-sections", onchange: () => this.sections() });
    for (const [field] of DAYS) row[field] = typed(field, { type: "date" });
    row.up = el("button", { type: "button", class: "step", onclick: () => this.move(row, -1) }, "↑");
    row.down = el("button", { type: "button", class: "step", onclick: () => this.move(row, 1) }, "↓");
    row.drop = el("button", { type: "button", class: "step", onclick: () => this.remove(row) }, "×");
    row.as = el("summary");
    row.legend = el("legend", { class: "hidden" });
    row.choices = el("fieldset");
    row.more = el("details", { class: "as" }, row.as, row.choices);
    row.note = el("p", { class: "note", id: `menu-note-${Math.random().toString(36).slice(2)}` });
    const cells = [[row.drink, row.more, row.note], row.menu_price, row.section, row.valid_from, row.valid_to, el("span", { class: "steps" }, row.up, row.down, row.drop)];
    row.node = el("tr", { onkeydown: (event) => this.key(event, row) }, cells.map((cell, place) => place
      ? el("td", { "data-label": HEADS[place] }, el("div", {}, cell)) : el("th", { scope: "row", "data-label": HEADS[0] }, cell)));
    this.rows.push(row);
    at("menu-entries").append(row.node);
    this.modify(row);
    this.number();
    this.sections();
    return row;
  }

  number() {
    // What each field is read out as follows its place and its drink.
    this.rows.forEach((row, place) => {
      const name = row.drink.value ? this.nameOf(row.drink.value) : `entry ${place + 1}`;
      row.drink.setAttribute("aria-label", `Drink ${place + 1}`);
      row.menu_price.setAttribute("aria-label", `Price of ${name}`);
      row.section.setAttribute("aria-label", `Section of ${name}`);
      for (const [field, said] of DAYS) row[field].setAttribute("aria-label", `${said} of ${name}`);
      row.up.setAttribute("aria-label", `Move ${name} up`);
      row.down.setAttribute("aria-label", `Move ${name} down`);
      row.drop.setAttribute("aria-label", `Take ${name} off`);
      row.as.setAttribute("aria-label", `${name} ${this.asSold(row)}`);
      row.legend.textContent = `${name} is sold with`;
    });
  }

  asSold({ with: chosen }) { return chosen.length ? `with ${chosen.map(spoken).join(", ")}` : "as it is"; }

  modify(row) {
    // The modifiers of its drink, those that the line sells it with ticked. Another drink begins without any.
    const { entry, drink: { value } } = row;
    row.with = value === entry.drink ? [...(entry.with || [])] : [];
    const known = (this.drinks.find((one) => one.id === value)?.body.modifiers || []).map((one) => [one.id, one.name]);
    for (const id of row.with) if (!known.some(([other]) => other === id)) known.push([id, spoken(id)]);
    const tick = ([id, name]) => el("label", { class: "tick" }, el("input", { type: "checkbox", checked: row.with.includes(id), onchange: ({ target }) => {
      row.with = target.checked ? [...row.with, id] : row.with.filter((one) => one !== id);
      this.mark(row, "with", "");
      row.as.textContent = this.asSold(row);
      this.number();
    } }), ` ${name}`);
    row.choices.replaceChildren(row.legend, ...known.map(tick));
    row.more.hidden = !known.length;
    row.more.open = false;
    row.as.textContent = this.asSold(row);
  }

  sections() {
    const named = [...new Set(this.rows.map((row) => row.section.value.trim()).filter(Boolean))];
    at("menu-sections").replaceChildren(...named.map((value) => el("option", { value })));
  }

  key(event, row) {
    const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (!by || !event.altKey) return;
    event.preventDefault();
    this.move(row, by);
  }

  move(row, by) {
    const from = this.rows.indexOf(row);
    const to = from + by;
    if (to < 0 || to >= this.rows.length) return;
    const focused = document.activeElement;
    this.rows.splice(to, 0, this.rows.splice(from, 1)[0]);
    at("menu-entries").insertBefore(row.node, at("menu-entries").children[by > 0 ? to + 1 : to] || null);
    this.number();
    focused.focus();
    at("menu-heard").textContent = `${row.drink.value ? this.nameOf(row.drink.value) : "The entry"} is now ${to + 1} of ${this.rows.length}`;
  }

  remove(row) {
    const place = this.rows.indexOf(row);
    const name = row.drink.value ? this.nameOf(row.drink.value) : "An empty entry";
    this.rows.splice(place, 1);
    row.node.remove();
    this.number();
    (this.rows[Math.min(place, this.rows.length - 1)]?.drop || at("menu-add")).focus();
    at("menu-heard").textContent = `${name} is taken off`;
  }

  mark(row, name, detail) {
    // A fault stands at its entry, and at its field for a screen reader, until the field is changed.
    const field = name === "with" ? row.as : row[name] || row.drink;
    if (detail) row.faults.set(field, detail); else row.faults.delete(field);
    row.note.textContent = [...new Set(row.faults.values())].join(" ");
    row.node.classList.toggle("wrong", row.faults.size > 0);
    // What opens the modifiers is a button, which cannot be invalid; it is described alone.
    for (const [key, value] of [["aria-invalid", "true"], ["aria-describedby", row.note.id]].slice(field === row.as ? 1 : 0)) {
      if (detail) field.setAttribute(key, value); else field.removeAttribute(key);
    }
    return field;
  }

  entryOf(row) {
    const { entry } = row;
    const drink = row.drink.value;
    const made = drink === entry.drink ? { ...entry } : { drink };
    const texts = { menu_price: row.menu_price.value.trim().replace(",", "."), section: row.section.value.trim(), valid_from: row.valid_from.value, valid_to: row.valid_to.value };
    for (const [name, text] of Object.entries(texts)) if (text) made[name] = text; else delete made[name];
    if (row.with.length) made.with = row.with; else delete made.with;
    return made;
  }

  async keep(tag = this.etag) {
    const name = at("menu-name").value.trim();
    const id = this.body?.id || slug(name);
    const rows = this.rows.filter((row) => row.drink.value);
    const empty = this.rows.find((row) => !row.drink.value && ["menu_price", "section", "valid_from", "valid_to"].some((field) => row[field].value.trim()));
    if (!id || !name) { this.tell("Its name needs a letter or a figure."); at("menu-name").focus(); return; }
    if (empty) { this.tell("One entry names no drink."); this.mark(empty, "drink", "Which drink?").focus(); return; }
    if (!rows.length && !this.body) { this.tell("Choose a drink for it first."); (this.rows[0]?.drink || at("menu-add")).focus(); return; }
    const body = { ...this.body, id, name, entries: rows.map((row) => this.entryOf(row)) };
    const held = { venue: at("menu-venue").value, ...Object.fromEntries(DAYS.map(([field]) => [field, at(`menu-${field}`).value])) };
    for (const [field, value] of Object.entries(held)) if (value) body[field] = value; else delete body[field];
    if (at("menu-public").checked) body.prices_public = true; else delete body.prices_public;
    at("menu-keep").disabled = true;
    this.tell("Keeping it.");
    try {
      await sent(`v1/menus/${encodeURIComponent(id)}`, { method: "PUT", body, headers: tag ? { "If-Match": tag } : { "If-None-Match": "*" } });
      this.close(false);
      await this.made(id);
      this.say(`Kept: ${name}.`);
      at("menu-change").focus();
    } catch (fault) { this.notKept(fault, id, rows); } finally { at("menu-keep").disabled = false; }
  }

  notKept(fault, id, rows) {
    // Nothing of what was written here is lost, and nothing of another's is written over unseen.
    if (fault.status === 412 || fault.status === 428) {
      const words = this.etag ? "Somebody has changed this menu since it was opened. Nothing was written."
        : `The catalogue already holds a menu under ${id}. Nothing was written.`;
      const look = el("button", { type: "button", onclick: () => this.begin(this.drinks, id).catch((other) => this.tell(inWords(other))) }, "Open that one");
      this.tell(words, " ", look, " ", el("button", { type: "button", onclick: () => this.over(id) }, "Put mine in its place"));
      look.focus();
      return;
    }
    const placed = fault instanceof Refusal ? fault.errors.map((row) => [/^\/entries\/(\d+)(?:\/([a-z_]+))?/.exec(row.pointer), row]).filter(([found]) => found && rows[Number(found[1])]) : [];
    for (const row of rows) for (const field of ["drink", "with", "menu_price", "section", "valid_from", "valid_to"]) this.mark(row, field, "");
    const fields = placed.map(([found, row]) => this.mark(rows[Number(found[1])], found[2], row.detail));
    this.tell(`Not kept. ${fields.length ? "What is wrong stands at its entry." : inWords(fault)}`);
    fields[0]?.focus();
  }

  async over(id) {
    try {
      const held = await sent(`v1/menus/${encodeURIComponent(id)}`);
      this.body = { ...await held.json(), ...this.body };
      await this.keep(held.headers.get("ETag"));
    } catch (fault) { this.tell(inWords(fault)); }
  }
}
