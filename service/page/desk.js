// The desk: writes a drink, asks for its answer as one types, and keeps, opens, prints and shares it.

import { answerOf, headline, lineWords, statutoryOf } from "./answer.js";
import { allEntries, asked, inWords, orNothing, Refusal, sent } from "./client.js";
import { Comparing } from "./comparing.js";
import { Editor } from "./editor.js";
import { candidates, slug } from "./items.js";
import { at, el, listed, options } from "./markup.js";
import { learnUnits, parsed, written } from "./paper.js";
import { settledAt, venuesKnown } from "./venues.js";
import { blank, drinkAsked, History, lineAsked, linkOf, ofLink, stateOf } from "./spec.js";

const WAIT_MS = 150;
const DRAFT = "washline-draft";
const FIELDS = { name: "name", serves: "serves", method: "method", glass: "glass", ice: "ice", water: "water", place: "place" };
const METHODS = [["shaken", "Shaken"], ["stirred", "Stirred"], ["built", "Built"], ["none", "Mixed without ice"], ["dry_shaken", "Dry shaken"],
  ["whipped", "Whipped"], ["thrown", "Thrown"], ["swizzled", "Swizzled"], ["blended", "Blended"], ["spindle", "Spindle mixed"], ["frozen", "Frozen"],
  ["carbonated", "Carbonated"], ["heated", "Heated"], ["draught", "On draught"], ["prediluted", "Diluted beforehand"]];
const PRICING = ["currency", "choose", "rates", "target", "tax", "round", "allowances", "labour"];

export class Desk {
  constructor() {
    this.known = Promise.resolve();
    this.left = [];
    this.what = new Map();
    this.state = blank();
    this.history = new History(this.state);
    this.etag = "";
    this.turn = 0;
    this.house = {};
    this.sent = [];
    this.answer = null;
    this.editor = new Editor(at("lines"), this.state, (place) => this.changed(place));
    this.comparing = new Comparing(this);
    options(at("method"), METHODS, "shaken");
    for (const [id, name] of Object.entries(FIELDS)) at(id).addEventListener("input", () => { this.state[name] = at(id).value; this.changed(id); });
    at("venue").addEventListener("change", () => { this.settle(); this.offer(); this.run(); });
    at("menu-price").addEventListener("input", () => this.soon());
    const acts = { add: () => this.editor.add(), undo: () => this.moved("undo"), redo: () => this.moved("redo"), new: () => this.begin(), open: () => this.choose(),
      keep: () => this.keep(), print: () => window.print(), share: () => this.share(), compare: () => this.comparing.compare(), swap: () => this.comparing.swap() };
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
    // What the service knows. Answers wait for the measures and the house's own settings, and for nothing else.
    const closed = [401, 403, 404];
    const told = Promise.all([orNothing(asked("v1/reference/measures"), ...closed), venuesKnown()])
      .then(([measures, { group, venues }]) => { if (measures) learnUnits(measures); this.venues = venues; this.group = group; this.settle(); });
    told.then(() => this.offer()).catch(() => { /* said where the answer stands */ });
    return told;
  }

  settle() {
    // Which venue's prices, rules and tools the answer follows; the group's unless one is chosen.
    const chosen = at("venue").value;
    at("venue-box").hidden = !this.venues.length;
    options(at("venue"), [["", this.group.name || "the group"], ...this.venues.map((venue) => [venue.id, venue.name])], chosen);
    this.house = settledAt(this.group, this.venues.find((venue) => venue.id === at("venue").value));
  }

  async offer() {
    // Places to choose from, and buttons for what this service can do.
    const [places, contract] = await Promise.all([orNothing(asked("v1/reference/jurisdictions"), 401, 403),
      orNothing(asked("openapi.json"), 401, 403, 404)]);
    const own = this.house.jurisdictions;
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
    const body = { drink: drinkAsked(this.state, lines), bands: true };
    const { pricing, house, measures, jurisdictions } = this.house;
    if (pricing?.currency) {
      body.pricing = Object.fromEntries(PRICING.filter((name) => pricing[name] !== undefined).map((name) => [name, pricing[name]]));
      const price = at("menu-price").value.trim().replace(",", ".");
      if (price) body.pricing.menu_price = price;
    }
    if (house) body.house = house;
    if (measures) body.measures = measures;
    if (this.state.place) body.jurisdictions = [this.state.place];
    else if (jurisdictions) body.jurisdictions = jurisdictions;
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
    at("menu-price-box").hidden = !(answer.cost && this.house.pricing?.currency);
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
    try {
      const answer = await sent(`v1/drinks/${encodeURIComponent(id)}`);
      this.begin(await this.stateOfDrink(await answer.json()), answer.headers.get("ETag"));
      this.say("Opened.");
      at("name").focus();
    } catch (fault) { this.say(inWords(fault)); }
  }

  async stateOfDrink(drink) {
    // Its lines in words: the service says what its items are called.
    let names = drink.lines.map((line) => line.item);
    const { external_ids: _, ...spec } = drink;
    try { names = (await asked("v1/evaluate", { method: "POST", body: { drink: spec, include: ["alcohol"] } })).lines.map((line) => line.name); } catch { /* its ids then */ }
    return stateOf(drink, drink.lines.map((line, number) => written(line, names[number])), this.state.place);
  }

  async keep(force = "") {
    // Into the catalogue; nobody's change is written over unseen.
    if (!this.state.name.trim()) { this.say("Give the drink a name first."); at("name").focus(); return; }
    if (!this.answer || this.left.length) { this.say("It cannot be kept before every line is read."); return; }
    const read = await this.read();
    const id = this.state.id || slug(this.state.name);
    if (!id) { this.say("Its name needs a letter or a figure."); return; }
    const drink = { ...drinkAsked(this.state, read.map((row) => row.line)), id };
    const tag = force || this.etag;
    try {
      const answer = await sent(`v1/drinks/${encodeURIComponent(id)}`, { method: "PUT", body: drink, headers: tag ? { "If-Match": tag } : { "If-None-Match": "*" } });
      this.etag = answer.headers.get("ETag");
      this.state.id = id;
      this.history.note(this.state, "id");
      at("from").textContent = `In the catalogue as ${id}`;
      this.say(answer.status === 201 ? `Kept in the catalogue as ${id}.` : `Kept: ${id} is replaced.`);
    } catch (fault) { this.notKept(fault, id); }
  }

  notKept(fault, id) {
    if (fault.status === 412 || fault.status === 428) {
      const words = this.etag ? "Somebody has changed this drink since it was opened. Nothing was written."
        : `The catalogue already holds a drink under ${id}. Nothing was written.`;
      this.say(words, " ", el("button", { type: "button", onclick: () => this.openDrink(id) }, "Open that one"), " ",
        el("button", { type: "button", onclick: () => this.over(id) }, "Put mine in its place"));
    } else if (fault instanceof Refusal && fault.errors.length) {
      this.faults(fault.errors, "");
      this.say(`Not kept. ${inWords(fault)}`);
    } else this.say(`Not kept. ${inWords(fault)}`);
  }

  async over(id) {
    try {
      const held = await sent(`v1/drinks/${encodeURIComponent(id)}`);
      await this.keep(held.headers.get("ETag"));
    } catch (fault) { this.say(inWords(fault)); }
  }

  async share() {
    const link = new URL(linkOf(this.state), location.href.split("#")[0]).href;
    history.replaceState(null, "", link);
    const field = el("input", { id: "link", readonly: true, value: link });
    at("panel").replaceChildren(el("section", {}, el("h2", {}, "A link to this drink"), el("p", {}, el("label", { for: "link" }, "Link"), " ", field),
      el("p", { class: "quiet" }, "It holds the drink itself, no price and no key. Whoever opens it sees what their own key shows.")));
    field.select();
    try { await navigator.clipboard.writeText(link); this.say("Copied."); } catch { this.say("Copy the link below."); }
  }
}
