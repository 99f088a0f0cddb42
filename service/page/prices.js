// A supplier's price list: read as a dry run, looked at row by row, taken in whole or not at all.

import { allEntries, asked, inWords, sent } from "./client.js";
import { at, el, options, spoken, table } from "./markup.js";
import { access } from "./venues.js";
import { SupplierForm } from "./writing.js";

const MEDIA = { csv: "text/csv", xlsx: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" };
const AT_ONCE = 200;

export class PricesView {
  constructor() {
    this.turn = 0;
    this.supplier = new SupplierForm((text) => this.say(text), (id) => this.start(id));
    at("list-form").addEventListener("submit", (event) => { event.preventDefault(); this.read(); });
  }

  async start(chosen = at("supplier").value) {
    const turn = this.begun = {};
    try {
      const { may } = await access();
      if (turn !== this.begun) return;
      const takes = may("catalogue:write") && may("costs:read");
      at("list-form").hidden = at("supplier-make").hidden = !takes;
      if (!takes) { this.say("This key takes in no price list: that needs catalogue:write and costs:read."); return; }
      const suppliers = await allEntries("suppliers");
      if (turn !== this.begun) return;
      options(at("supplier"), suppliers.map((entry) => [entry.id, entry.body.name]), chosen);
      this.say(suppliers.length ? "" : "The catalogue holds no supplier yet. Write one down first.");
      if (!suppliers.length) at("supplier-make").open = true;
    } catch (fault) { if (turn === this.begun) this.say(inWords(fault)); }
  }

  say(text) { at("list-state").textContent = text; }

  async read() {
    const [file] = at("file").files;
    if (!file || !at("supplier").value) { this.say("Choose a supplier and a file."); return; }
    const turn = this.turn += 1;
    const media = MEDIA[file.name.split(".").pop().toLowerCase()];
    if (!media) { this.say("A price list here is a file that ends in .csv or .xlsx."); return; }
    at("list-answer").replaceChildren();
    at("list-bar-box").hidden = false;
    at("list-bar").removeAttribute("value");
    this.say("Sending the list. Nothing is changed.");
    try {
      const day = at("from-day").value;
      const head = await asked(`v1/price-lists?supplier=${encodeURIComponent(at("supplier").value)}${day ? `&valid_from=${day}` : ""}`,
        { method: "POST", body: file, headers: { "Content-Type": media } });
      const rows = await this.rows(head, turn);
      if (turn !== this.turn || !rows) return;
      this.list = { head, rows, confirm: new Set(), out: new Set(), items: {}, shown: AT_ONCE };
      this.draw();
    } catch (fault) { if (turn === this.turn) this.say(inWords(fault)); } finally { if (turn === this.turn) at("list-bar-box").hidden = true; }
  }

  async rows({ id, counts }, turn) {
    // Row by row as they come, so that the bar moves with what was really read.
    const { to_confirm: _, ...outcomes } = counts;
    const whole = Object.values(outcomes).reduce((sum, count) => sum + count, 0);
    const bar = at("list-bar");
    bar.max = Math.max(1, whole);
    const answer = await sent(`v1/price-lists/${encodeURIComponent(id)}/rows`, { headers: { Accept: "application/x-ndjson" } });
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    const rows = [];
    let rest = "";
    let ended = false;
    for (;;) {
      const { done, value } = await reader.read();
      if (turn !== this.turn) { reader.cancel(); return null; }
      const lines = (rest + (value || "")).split("\n");
      rest = done ? "" : lines.pop();
      for (const line of lines) {
        if (!line) continue;
        const row = JSON.parse(line);
        if (row.end) ended = true; else rows.push(row);
      }
      bar.value = rows.length;
      this.say(`${rows.length} of ${whole} rows read. Nothing is changed.`);
      if (done) break;
    }
    if (!ended) throw new Error("cut off");
    return rows;
  }

  open() {
    // Rows that stand in the way: refused and neither left out nor given an item, or doubtful and not confirmed.
    const { rows, confirm, out, items } = this.list;
    return rows.filter((row) => !out.has(row.row) && ((row.reasons.length && !items[row.code || row.gtin]) || (row.must_confirm.length && !confirm.has(row.row))));
  }

  draw() {
    const { head, rows, shown } = this.list;
    const { counts } = head;
    const doubtful = (row) => row.reasons.length || row.must_confirm.length;
    const sorted = [...rows.filter(doubtful), ...rows.filter((row) => !doubtful(row))];
    const commit = el("button", { type: "button", id: "commit", onclick: () => this.commit() }, "Take it in");
    const still = el("p", { id: "list-open", role: "status" });
    const words = ["new", "up", "down", "unchanged", "refused"].filter((name) => counts[name]).map((name) => `${counts[name]} ${name}`).join(", ");
    at("list-answer").replaceChildren(el("section", {}, el("h2", {}, "What it would change"), el("p", {}, `${rows.length} rows: ${words}. ${counts.to_confirm} to confirm.`),
      table("Rows that need a look come first", ["Row", "Article", "Pack", "Before", "Now", "Change", "To do"], sorted.slice(0, shown).map((row) => this.cells(row)), "rows"),
      shown < sorted.length ? el("p", {}, el("button", { type: "button", onclick: () => { this.list.shown += AT_ONCE; this.draw(); } }, `Show more of the ${sorted.length - shown} others`)) : null,
      still, el("div", { class: "row tools" }, commit, el("button", { type: "button", onclick: () => this.drop() }, "Drop it"))));
    this.say("This was a dry run. Nothing is changed yet.");
    this.count();
  }

  cells(row) {
    const price = (sum) => (sum === null ? "none" : `${sum} ${row.currency}`);
    return [String(row.row), [row.name || row.code || row.gtin || "", row.item ? el("span", { class: "quiet" }, ` ${spoken(row.item)}`) : ""], row.pack_text || "", price(row.old_price), price(row.new_price),
      row.change_percent === null ? row.outcome : `${row.outcome}, ${row.change_percent} %`, this.toDo(row)];
  }

  toDo(row) {
    const { confirm, out, items } = this.list;
    const tick = (text, has, act) => el("label", { class: "tick" }, el("input", { type: "checkbox", checked: has,
      onchange: (event) => { act(event.target.checked); this.count(); } }), ` ${text}`);
    const switched = (set) => (on) => (on ? set.add(row.row) : set.delete(row.row));
    const parts = [...row.reasons, ...row.must_confirm].map((reason) => el("p", {}, reason.detail));
    const code = row.code || row.gtin;
    if (row.suggested_item && row.reasons.length && code) {
      parts.push(tick(`It is ${row.suggested_item.name}`, Boolean(items[code]), (on) => { if (on) items[code] = row.suggested_item.id; else delete items[code]; }));
    }
    if (row.must_confirm.length) parts.push(tick(`Row ${row.row} is right`, confirm.has(row.row), switched(confirm)));
    if (row.reasons.length || row.must_confirm.length) parts.push(tick(`Leave row ${row.row} out`, out.has(row.row), switched(out)));
    return parts.length ? parts : "nothing";
  }

  count() {
    const open = this.open();
    at("commit").disabled = open.length > 0;
    at("list-open").textContent = open.length ? `${open.length} rows still need a look before the list can be taken in.` : "Every row is looked at. The list can be taken in, all of it or nothing.";
  }

  async commit() {
    const { head, confirm, out, items } = this.list;
    at("commit").disabled = true;
    try {
      await asked(`v1/price-lists/${encodeURIComponent(head.id)}/commit`, { method: "POST", body: { confirm: [...confirm], leave_out: [...out], items } });
      at("list-answer").replaceChildren();
      this.say("The list is taken in. Answers from its first day on use its prices.");
    } catch (fault) { this.say(`Nothing was taken in. ${inWords(fault)}`); this.count(); }
  }

  async drop() {
    try {
      await sent(`v1/price-lists/${encodeURIComponent(this.list.head.id)}`, { method: "DELETE" });
      at("list-answer").replaceChildren();
      this.say("The list is dropped. Nothing was changed.");
    } catch (fault) { this.say(inWords(fault)); }
  }
}
