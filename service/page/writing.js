// A supplier written down on the page, for who begins with an empty catalogue.

import { inWords, sent } from "./client.js";
import { slug } from "./items.js";
import { at, el } from "./markup.js";

const COLUMNS = [["code", "Article number", "Article"], ["gtin", "GTIN, EAN", "EAN"], ["name", "Name", "Description"], ["pack", "Pack, such as 6 x 70 cl", "Pack"],
  ["pack_count", "Units in a pack", ""], ["size", "Size of a unit", ""], ["price", "Price", "Price"], ["valid_from", "First day", ""], ["item", "Id of the item", ""]];

export async function kept(kind, body) {
  // A new entry; what is there under its id is not written over.
  try {
    await sent(`v1/${kind}/${encodeURIComponent(body.id)}`, { method: "PUT", body, headers: { "If-None-Match": "*" } });
    return "";
  } catch (fault) {
    return fault.status === 412 || fault.status === 428 ? `The catalogue already holds one under ${body.id}. Give it another name.` : `Not kept. ${inWords(fault)}`;
  }
}

export class SupplierForm {
  // `made(id)` is called with the id of the new supplier.
  constructor(say, made) {
    Object.assign(this, { say, made });
    at("supplier-columns").replaceChildren(...COLUMNS.map(([name, said, shown]) => el("p", {}, el("label", { for: `column-${name}` }, said),
      el("input", { id: `column-${name}`, maxlength: 200, autocomplete: "off", placeholder: shown || " " }))));
    at("supplier-tax").addEventListener("change", () => { at("supplier-rate-box").hidden = !at("supplier-tax").checked; });
    at("supplier-form").addEventListener("submit", (event) => { event.preventDefault(); this.keep(); });
  }

  async keep() {
    const name = at("supplier-name").value.trim();
    const mapping = Object.fromEntries(COLUMNS.map(([column]) => [column, at(`column-${column}`).value.trim()]).filter(([, text]) => text));
    if (!slug(name)) { this.say("Its name needs a letter or a figure."); return; }
    if (!mapping.price) { this.say("Say under which heading its prices stand."); at("column-price").focus(); return; }
    const body = { id: slug(name), name, price_list: { mapping, tax_included: at("supplier-tax").checked } };
    const [currency, rate] = [at("supplier-currency").value.trim().toUpperCase(), at("supplier-rate").value.trim().replace(",", ".")];
    if (currency) body.currency = currency;
    if (at("supplier-tax").checked && rate) body.price_list.tax_rate_percent = rate;
    const refused = await kept("suppliers", body);
    if (refused) { this.say(refused); return; }
    at("supplier-form").reset();
    at("supplier-make").open = false;
    await this.made(body.id);
    this.say(`${name} is kept. Choose its list.`);
    at("file").focus();
  }
}
