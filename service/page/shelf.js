// The catalogue's shelf of drinks: opens one on the desk, keeps the one on the desk, and makes a link to it.

import { allEntries, asked, inWords, Refusal, sent } from "./client.js";
import { slug } from "./items.js";
import { at, el } from "./markup.js";
import { written } from "./paper.js";
import { drinkKept, linkOf, specOf, stateOf } from "./spec.js";

export class Shelf {
  constructor(desk) { this.desk = desk; }

  async choose() {
    // The stored drinks by name, to open one.
    at("panel").replaceChildren(el("p", { class: "quiet" }, "Looking into the catalogue."));
    try {
      const entries = await allEntries("drinks");
      const list = el("ul", { class: "choices" }, entries.map((entry) => el("li", {},
        el("button", { type: "button", onclick: () => this.openDrink(entry.id) }, entry.body.name))));
      const filter = el("input", { id: "find", type: "search", oninput: () => [...list.children].forEach((node) => {
        node.hidden = !node.textContent.toLowerCase().includes(filter.value.toLowerCase()); }) });
      at("panel").replaceChildren(el("section", {}, el("h2", {}, "Open a drink"), entries.length
        ? [el("p", {}, el("label", { for: "find" }, "Name holds"), " ", filter), list] : el("p", {}, "The catalogue holds no drinks yet. Keep one first.")));
      filter.focus();
    } catch (fault) { at("panel").replaceChildren(el("p", { class: "fault" }, inWords(fault))); }
  }

  async openDrink(id) {
    // Of two that are asked for, the later one is opened, whichever comes first.
    const wanted = this.wanted = {};
    try {
      const answer = await sent(`v1/drinks/${encodeURIComponent(id)}`);
      const state = await this.stateOfDrink(await answer.json());
      if (wanted !== this.wanted) return;
      this.desk.begin(state, answer.headers.get("ETag"));
      this.desk.say("Opened.");
      at("name").focus();
    } catch (fault) { this.desk.say(inWords(fault)); }
  }

  async stateOfDrink(drink) {
    // Its lines in words: the service says what its items are called.
    let names = drink.lines.map((line) => line.item);
    try { names = (await asked("v1/evaluate", { method: "POST", body: { drink: specOf(drink), include: ["alcohol"] } })).lines.map((line) => line.name); } catch { /* its ids then */ }
    return stateOf(drink, drink.lines.map((line, number) => written(line, names[number])), this.desk.state.place);
  }

  async keep(force = "") {
    // Into the catalogue; nobody's change is written over unseen.
    if (!this.desk.state.name.trim()) { this.desk.say("Give the drink a name first."); at("name").focus(); return; }
    if (!this.desk.answer || this.desk.left.length) { this.desk.say("It cannot be kept before every line is read."); return; }
    const read = await this.desk.read();
    const id = this.desk.state.id || slug(this.desk.state.name);
    if (!id) { this.desk.say("Its name needs a letter or a figure."); return; }
    const drink = { ...drinkKept(this.desk.state, read.map((row) => row.line)), id };
    const tag = force || this.desk.etag;
    try {
      const answer = await sent(`v1/drinks/${encodeURIComponent(id)}`, { method: "PUT", body: drink, headers: tag ? { "If-Match": tag } : { "If-None-Match": "*" } });
      this.desk.etag = answer.headers.get("ETag");
      this.desk.state.id = id;
      this.desk.history.note(this.desk.state, "id");
      at("from").textContent = `In the catalogue as ${id}`;
      this.desk.say(answer.status === 201 ? `Kept in the catalogue as ${id}.` : `Kept: ${id} is replaced.`);
    } catch (fault) { this.notKept(fault, id); }
  }

  notKept(fault, id) {
    if (fault.status === 412 || fault.status === 428) {
      const words = this.desk.etag ? "Somebody has changed this drink since it was opened. Nothing was written."
        : `The catalogue already holds a drink under ${id}. Nothing was written.`;
      this.desk.say(words, " ", el("button", { type: "button", onclick: () => this.openDrink(id) }, "Open that one"), " ",
        el("button", { type: "button", onclick: () => this.over(id) }, "Put mine in its place"));
    } else if (fault instanceof Refusal && fault.errors.length) {
      this.desk.faults(fault.errors, "");
      this.desk.say(`Not kept. ${inWords(fault)}`);
    } else this.desk.say(`Not kept. ${inWords(fault)}`);
  }

  async over(id) {
    try {
      const held = await sent(`v1/drinks/${encodeURIComponent(id)}`);
      await this.keep(held.headers.get("ETag"));
    } catch (fault) { this.desk.say(inWords(fault)); }
  }

  async share() {
    const link = new URL(linkOf(this.desk.state), location.href.split("#")[0]).href;
    history.replaceState(null, "", link);
    const field = el("input", { id: "link", readonly: true, value: link });
    at("panel").replaceChildren(el("section", {}, el("h2", {}, "A link to this drink"), el("p", {}, el("label", { for: "link" }, "Link"), " ", field),
      el("p", { class: "quiet" }, "It holds the drink itself, no price and no key. Whoever opens it sees what their own key shows.")));
    field.select();
    try { await navigator.clipboard.writeText(link); this.desk.say("Copied."); } catch { this.desk.say("Copy the link below."); }
  }
}
