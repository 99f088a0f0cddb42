// The desk: writes a drink, asks for its answer as one types, and keeps, opens, prints and shares it.

import { answerOf, headline, lineWords, statutoryOf } from "./answer.js";
import { asked, inWords, orNothing, Refusal } from "./client.js";
import { Comparing } from "./comparing.js";
import { Editor } from "./editor.js";
import { candidates, slug } from "./items.js";
import { at, el, listed, options } from "./markup.js";
import { learnUnits, parsed } from "./paper.js";
import { Shelf } from "./shelf.js";
import { blank, drinkKept, History, lineAsked, linkOf, ofLink, specOf } from "./spec.js";
import { access, venuesKnown } from "./venues.js";

const WAIT_MS = 150;
const DRAFT = "washline-draft";
const FIELDS = { name: "name", serves: "serves", method: "method", glass: "glass", ice: "ice", water: "water", place: "place" };
const METHODS = [["shaken", "Shaken"], ["stirred", "Stirred"], ["built", "Built"], ["none", "Mixed without ice"], ["dry_shaken", "Dry shaken"],
  ["whipped", "Whipped"], ["thrown", "Thrown"], ["swizzled", "Swizzled"], ["blended", "Blended"], ["spindle", "Spindle mixed"], ["frozen", "Frozen"],
  ["carbonated", "Carbonated"], ["heated", "Heated"], ["draught", "On draught"], ["prediluted", "Diluted beforehand"]];

export class Desk {
  constructor() {
    this.known = Promise.resolve();
    this.left = [];
    this.what = new Map();
    this.state = blank();
    this.history = new History(this.state);
    this.etag = "";
    this.turn = 0;
    this.venues = [];
    this.group = {};
    this.currency = "";
    this.access = { may: () => true, venue: "" };
    this.sent = [];
    this.answer = null;
    this.editor = new Editor(at("lines"), this.state, (place) => this.changed(place));
    this.comparing = new Comparing(this);
    this.shelf = new Shelf(this);
    options(at("method"), METHODS, "shaken");
    for (const [id, name] of Object.entries(FIELDS)) at(id).addEventListener("input", () => { this.state[name] = at(id).value; this.changed(id); });
    at("venue").addEventListener("change", () => { this.currency = ""; this.offer(); this.run(); });
    at("menu-price").addEventListener("input", () => this.soon());
    const acts = { add: () => this.editor.add(), undo: () => this.moved("undo"), redo: () => this.moved("redo"), new: () => this.begin(), open: () => this.shelf.choose(),
      keep: () => this.shelf.keep(), print: () => window.print(), share: () => this.shelf.share(), compare: () => this.comparing.compare(), swap: () => this.comparing.swap() };
    for (const [id, act] of Object.entries(acts)) at(id).addEventListener("click", act);
    at("desk").addEventListener("keydown", (event) => this.shortcut(event));
  }

  start() {
    this.known = this.learn();
    this.show(ofLink(location.hash) || this.draft() || this.state);
    this.history = new History(this.state);
    this.buttons();
  }

  learn() {
    // What the service knows. Answers wait for the measures and for where the drink is poured, and for nothing else.
    const told = Promise.all([orNothing(asked("v1/reference/measures"), 401, 403, 404), venuesKnown(), access()])
      .then(([measures, { group, venues }, may]) => {
        if (measures) learnUnits(measures);
        Object.assign(this, { group, venues, access: may });
        this.settle();
      });
    told.then(() => this.offer()).catch(() => { /* said where the answer stands */ });
    return told;
  }

  settle() {
    // Whose prices, rules and tools the answer follows: the group's, unless a venue is chosen or is all that the key knows.
    const { venue } = this.access;
    const places = [...(venue ? [] : [["group", this.group.name || "the group"]]), ...this.venues.map((one) => [one.id, one.name])];
    const chosen = at("venue").value;
    options(at("venue"), places, places.some(([id]) => id === chosen) ? chosen : places[0]?.[0]);
    at("venue-box").hidden = places.length < 2;
    at("keep").hidden = !this.access.may("catalogue:write");
  }

  async offer() {
    // Places to choose from, and buttons for what this service can do.
    const [places, contract] = await Promise.all([orNothing(asked("v1/reference/jurisdictions"), 401, 403),
      orNothing(asked("openapi.json"), 401, 403, 404)]);
    const own = this.venues.find((venue) => venue.id === at("venue").value)?.jurisdictions || this.group.jurisdictions;
    options(at("place"), [["", own ? `the house: ${listed(own)}` : "the service's own choice"],
      ...(places?.jurisdictions || []).map((row) => [row.code, `${row.name} (${row.code})`])], this.state.place);
    const paths = contract?.paths || {};
    at("compare").hidden = !paths["/v1/compare"];
    at("swap").hidden = !paths["/v1/substitute"];
  }

  keyChanged() {
    this.etag = "";
    at("panel").replaceChildren();
    this.known = this.learn();
    this.run();
  }

  draft() {
    try { return ofLink(sessionStorage.getItem(DRAFT) || ""); } catch { return null; }
  }

  show(state, focus = -1) {
    this.state = state;
    for (const [id, name] of Object.entries(FIELDS)) at(id).value = state[name];
    at("from").textContent = state.id ? `${this.etag ? "In the catalogue as" : "Its id:"} ${state.id}` : "";
    this.editor.show(state, focus);
    this.buttons();
    this.run();
  }

  changed(place) {
    this.history.note(this.state, place);
    this.soon();
    this.buttons();
    clearTimeout(this.drafting);
    this.drafting = setTimeout(() => sessionStorage.setItem(DRAFT, linkOf(this.state)), 50);
  }

  buttons() {
    at("undo").disabled = !this.history.past.length;
    at("redo").disabled = !this.history.future.length;
  }

  moved(way) {
    const state = this.history[way]();
    if (!state) return;
    const place = this.editor.rows.findIndex((row) => row.input === document.activeElement);
    this.show(state, place);
    at("heard").textContent = way === "undo" ? "Undone" : "Done again";
  }

  shortcut(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const letter = event.key.toLowerCase();
    if (letter === "z" || letter === "y") {
      event.preventDefault();
      this.moved(letter === "y" || event.shiftKey ? "redo" : "undo");
    }
  }

  begin(state = blank(), etag = "") {
    this.etag = etag;
    at("panel").replaceChildren();
    this.say("");
    this.show(state, etag ? -1 : 0);
    this.changed("");
  }

  say(...words) { at("said").replaceChildren(...words); }

  soon() {
    // The first change after a pause is asked about at once, those of a burst when it pauses.
    const now = performance.now();
    const paused = now - (this.moment || 0) > WAIT_MS;
    this.moment = now;
    clearTimeout(this.timer);
    this.turn += 1;
    this.asking?.abort();
    if (paused) this.run(); else this.timer = setTimeout(() => this.run(), WAIT_MS);
  }

  async run() {
    // Each run has its turn; whatever comes back for an earlier turn is dropped.
    clearTimeout(this.timer);
    this.asking?.abort();
    const turn = this.turn += 1;
    this.asking = new AbortController();
    at("answer").setAttribute("aria-busy", "true");
    try {
      try { await this.known; } catch { await (this.known = this.learn()); }
      const read = await this.read();
      if (turn !== this.turn) return;
      this.sent = read.filter((row) => row.line).map((row) => row.place);
      this.what = new Map(read.map((row) => [row.place, row.what || ""]));
      this.left = read.filter((row) => !row.line).map((row) => row.place);
      this.answer = null;
      if (!this.sent.length) { this.empty(); return; }
      const answer = await asked("v1/evaluate", { method: "POST", body: this.question(read), signal: this.asking.signal });
      if (turn !== this.turn) return;
      this.tell(answer);
    } catch (fault) {
      if (turn === this.turn) this.refused(fault);
    } finally {
      if (turn === this.turn) at("answer").removeAttribute("aria-busy");
    }
  }

  async read() {
    // Every written line with its item; a line that names no one thing stays out, and the answer says so.
    const rows = this.state.lines.map((line, place) => ({ line, place })).filter(({ line }) => line.text.trim());
    return Promise.all(rows.map(async ({ line, place }) => {
      const reading = parsed(line.text);
      if (line.item) return { place, line: lineAsked(line, line.item, reading), what: line.label };
      if (!reading.name) { this.editor.say(place, reading.amount ? "of what?" : ""); return { place, line: null }; }
      let found = await candidates(reading.name);
      let taken = reading;
      if (!found.item && reading.other) {
        const other = await candidates(reading.other.name);
        if (other.item) { found = other; taken = { ...reading, ...reading.other }; }
      }
      if (!taken.amount) { this.editor.say(place, "How much? Begin the line with an amount, such as 50 ml."); return { place, line: null }; }
      if (found.item) return { place, line: lineAsked(line, found.item.id, taken), what: found.item.name };
      if (found.rows.length) { this.editor.say(place, "Which one?", { choices: found.rows }); return { place, line: null }; }
      const id = slug(reading.name);
      return { place, line: id ? lineAsked(line, id, taken) : null };
    }));
  }

  question(read) {
    const lines = read.filter((row) => row.line).map((row) => row.line);
    const body = { drink: specOf(drinkKept(this.state, lines)), bands: true };
    if (at("venue").value) body.venue = at("venue").value;
    const price = at("menu-price").value.trim().replace(",", ".");
    if (price && this.currency) body.pricing = { currency: this.currency, menu_price: price };
    if (this.state.place) body.jurisdictions = [this.state.place];
    return body;
  }

  empty() {
    at("answer").replaceChildren(el("p", { class: "quiet" }, "Write a line, such as 50 ml aged rum 46, and the answer stands here."));
    this.summary("");
    this.faults([]);
  }

  summary(text) { if (at("summary").textContent !== text) at("summary").textContent = text; }

  tell(answer) {
    this.answer = answer;
    at("spec-faults").hidden = true;
    answer.lines.forEach((line, number) => {
      const place = this.sent[number];
      if (place !== undefined) this.editor.say(place, [line.name, line.source === "request" ? "" : `, ${line.source}`, `: ${line.read_as}`].join(""));
    });
    // A menu price is in the currency of the venue, which its first answer tells.
    const learnt = !this.currency && answer.price && at("menu-price").value.trim();
    this.currency = answer.price?.currency || "";
    at("menu-price-box").hidden = !answer.price;
    if (learnt) this.soon();
    at("answer").replaceChildren(...answerOf(answer, this.left));
    // What is printed alone waits until what is looked at stands.
    setTimeout(() => { if (this.answer === answer) at("answer").append(...[statutoryOf(answer)].filter(Boolean)); });
    this.summary(headline(answer, this.left));
  }

  faults(errors, base = "/drink") {
    // Each fault at the line its pointer names; what names no line stands below the fields.
    const rest = [];
    this.sent.forEach((place) => this.editor.say(place, this.what.get(place)));
    for (const row of errors) {
      const found = new RegExp(`^${base}/lines/(\\d+)`).exec(row.pointer);
      const place = found && this.sent[Number(found[1])];
      if (found && place !== undefined) this.editor.say(place, row.detail, { fault: true }); else rest.push(`${row.pointer.replace(base, "").replaceAll("/", " ").trim()}: ${row.detail}`);
    }
    at("spec-faults").hidden = !rest.length;
    at("spec-faults").textContent = rest.join(" ");
    return rest;
  }

  refused(fault) {
    if (fault instanceof Refusal && fault.errors.length) {
      this.faults(fault.errors);
      const places = [...new Set(fault.errors.map((row) => /^\/drink\/lines\/(\d+)/.exec(row.pointer)).filter(Boolean).map((found) => this.sent[Number(found[1])]))];
      const text = places.length ? `No answer until ${lineWords(places)} can be read.` : "No answer until what is said below the fields is mended.";
      at("answer").replaceChildren();
      this.summary(text);
      return;
    }
    const text = inWords(fault);
    at("answer").replaceChildren(el("p", {}, el("button", { type: "button", onclick: () => this.run() }, "Try again")));
    this.summary(text);
    if (fault.status === 401) at("key-box").open = true;
  }
}
