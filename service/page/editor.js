// The lines of a drink as rows of writing, each a combobox with suggestions below it.

import { about, candidates } from "./items.js";
import { at, el } from "./markup.js";
import { parsed, retold } from "./paper.js";
import { newLine } from "./spec.js";

const MOST_LINES = 60;
const SHOWN = 8;

export class Editor {
  // `changed(place)` is called after each change; `place` names the line for undo.
  constructor(list, state, changed) {
    Object.assign(this, { list, state, changed, rows: [] });
    list.addEventListener("focusout", (event) => {
      if (!list.contains(event.relatedTarget)) this.rows.forEach((row) => this.close(row));
    });
  }

  show(state, focus = -1) {
    this.state = state;
    this.rows = [];
    this.list.replaceChildren();
    state.lines.forEach((line, place) => this.insert(line, place));
    this.number();
    if (focus >= 0) this.focus(Math.min(focus, this.rows.length - 1));
  }

  insert(line, place) {
    const row = { line, options: [], active: -1 };
    const name = `line-${Math.random().toString(36).slice(2)}`;
    row.input = el("input", { role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": `${name}-list`,
      "aria-describedby": `${name}-note`, autocomplete: "off", autocapitalize: "none", spellcheck: "false", maxlength: 200, enterkeyhint: "next",
      oninput: () => this.typed(row), onkeydown: (event) => this.key(event, row), onpaste: (event) => this.paste(event, row),
      onblur: () => this.close(row) });
    row.input.value = line.text;
    row.box = el("ul", { id: `${name}-list`, role: "listbox", "aria-label": "Suggestions", hidden: true });
    row.note = el("p", { id: `${name}-note`, class: "note" });
    row.drop = el("button", { type: "button", class: "drop", onclick: () => this.remove(row, true) }, "×");
    row.node = el("li", {}, el("div", { class: "write" }, row.input, row.drop, row.box), row.note);
    this.rows.splice(place, 0, row);
    this.list.insertBefore(row.node, this.list.children[place] || null);
    return row;
  }

  number() {
    this.rows.forEach((row, place) => {
      row.input.setAttribute("aria-label", `Line ${place + 1}`);
      row.drop.setAttribute("aria-label", `Remove line ${place + 1}`);
      row.input.placeholder = this.rows.length === 1 ? "50 ml aged rum 46" : "";
    });
    this.state.lines = this.rows.map((row) => row.line);
  }

  focus(place, end = true) {
    const input = this.rows[place]?.input;
    if (!input) return;
    input.focus();
    if (end) input.setSelectionRange(input.value.length, input.value.length);
  }

  add(after = this.rows.length - 1, text = "") {
    if (this.rows.length >= MOST_LINES) return;
    this.insert(newLine(text), after + 1);
    this.number();
    this.focus(after + 1);
    if (text) this.changed("");
  }

  remove(row, back) {
    const place = this.rows.indexOf(row);
    if (this.rows.length === 1) {
      row.input.value = "";
      row.line = newLine();
    } else {
      this.rows.splice(place, 1);
      row.node.remove();
    }
    this.number();
    this.focus(Math.max(0, back ? place - 1 : place));
    this.changed("");
  }

  move(row, by) {
    const from = this.rows.indexOf(row);
    const to = from + by;
    if (to < 0 || to >= this.rows.length) return;
    this.rows.splice(to, 0, this.rows.splice(from, 1)[0]);
    this.list.insertBefore(row.node, this.list.children[by > 0 ? to + 1 : to] || null);
    this.number();
    row.input.focus();
    this.changed("");
  }

  typed(row) {
    const { line } = row;
    line.text = row.input.value;
    if (line.item && parsed(line.text).name !== line.label) line.item = line.label = "";
    this.changed(`line ${this.rows.indexOf(row)}`);
    this.suggest(row);
  }

  async suggest(row) {
    const { name } = parsed(row.line.text);
    if (row.line.item || name.length < 2) { this.close(row); return; }
    // Suggestions that come after another key, such as Escape, are no longer wanted.
    const wanted = row.wanted = {};
    let found;
    try { found = await candidates(name); } catch { return; }
    if (row.wanted !== wanted || parsed(row.input.value).name !== name || document.activeElement !== row.input) return;
    const rows = found.item ? [found.item, ...found.rows.filter((one) => one !== found.item)] : found.rows;
    row.options = rows.slice(0, SHOWN);
    row.active = -1;
    if (!row.options.length || (found.item && row.options.length === 1)) { this.close(row); return; }
    row.box.replaceChildren(...row.options.map((option, place) => el("li", {
      role: "option", id: `${row.box.id}-${place}`, "aria-selected": "false",
      onmousedown: (event) => { event.preventDefault(); this.pick(row, place); } },
      el("span", {}, option.name), " ", el("span", { class: "quiet" }, about(option)))));
    row.box.hidden = false;
    row.input.setAttribute("aria-expanded", "true");
    at("heard").textContent = `${row.options.length} suggestions`;
  }

  close(row) {
    row.box.hidden = true;
    row.active = -1;
    row.input.setAttribute("aria-expanded", "false");
    row.input.removeAttribute("aria-activedescendant");
  }

  pick(row, place) {
    const option = row.options[place];
    row.line.text = retold(row.input.value, option.name);
    row.line.item = option.id;
    row.line.label = parsed(row.line.text).name;
    row.input.value = row.line.text;
    this.close(row);
    this.changed("");
  }

  pickItem(row, option) {
    row.options = [option];
    this.pick(row, 0);
    row.input.focus();
  }

  mark(row, by) {
    const count = row.options.length;
    row.active = (row.active + by + count + (row.active < 0 && by < 0 ? 1 : 0)) % count;
    [...row.box.children].forEach((node, place) => node.setAttribute("aria-selected", String(place === row.active)));
    row.input.setAttribute("aria-activedescendant", `${row.box.id}-${row.active}`);
    row.box.children[row.active].scrollIntoView({ block: "nearest" });
  }

  key(event, row) {
    if (event.ctrlKey || event.metaKey || event.isComposing) return;
    const place = this.rows.indexOf(row);
    const open = !row.box.hidden;
    if (["Escape", "Enter", "ArrowUp", "ArrowDown", "Tab"].includes(event.key)) row.wanted = null;
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (step && event.altKey) this.move(row, step);
    else if (step && open) this.mark(row, step);
    else if (step) this.focus(place + step);
    else if (event.key === "Enter" && open && row.active >= 0) this.pick(row, row.active);
    else if (event.key === "Enter") { this.close(row); this.add(place); }
    else if (event.key === "Escape" && open) this.close(row);
    else if (event.key === "Backspace" && !row.input.value && this.rows.length > 1) this.remove(row, true);
    else return;
    event.preventDefault();
  }

  paste(event, row) {
    const lines = event.clipboardData.getData("text").split(/\r?\n/).map((line) => line.trim().slice(0, 200)).filter(Boolean);
    if (lines.length < 2) return;
    event.preventDefault();
    let place = this.rows.indexOf(row);
    if (!row.input.value.trim()) { row.input.value = row.line.text = lines.shift(); row.line.item = ""; }
    for (const text of lines) {
      if (this.rows.length >= MOST_LINES) break;
      this.insert(newLine(text), place += 1);
    }
    this.number();
    this.focus(place);
    this.changed("");
  }

  // What stands under a line: how it was read, or what is wrong with it, or which of several things is meant.
  say(place, text, { fault = false, choices = [] } = {}) {
    const row = this.rows[place];
    if (!row) return;
    const said = JSON.stringify([text, fault, choices.map((option) => option.id)]);
    if (said === row.said) return;
    row.said = said;
    const buttons = choices.slice(0, 4).map((option) => el("button", { type: "button", class: "choice",
      onclick: () => this.pickItem(row, option) }, option.name));
    row.note.replaceChildren(fault ? el("strong", {}, "Line not read: ") : "", text, " ", ...buttons);
    row.node.classList.toggle("wrong", fault);
    if (fault) row.input.setAttribute("aria-invalid", "true"); else row.input.removeAttribute("aria-invalid");
  }
}
