// Begins the page: its three views by the fragment of the address, and the key.

import { key } from "./client.js";
import { Desk } from "./desk.js";
import { forget } from "./items.js";
import { at } from "./markup.js";
import { MenuView } from "./menu.js";
import { PricesView } from "./prices.js";
import { ofLink } from "./spec.js";

const desk = new Desk();
const views = { desk: { start: () => {} }, menu: new MenuView(), prices: new PricesView() };

function viewOf(fragment) {
  const name = fragment.slice(1);
  return Object.hasOwn(views, name) ? name : "desk";
}

function turn(focus) {
  const chosen = viewOf(location.hash);
  for (const name of Object.keys(views)) at(name).hidden = name !== chosen;
  document.querySelectorAll("nav a").forEach((link) => {
    if (link.dataset.view === chosen) link.setAttribute("aria-current", "page"); else link.removeAttribute("aria-current");
  });
  document.title = chosen === "desk" ? "Washline" : `Washline: ${chosen}`;
  const shared = ofLink(location.hash);
  if (shared && focus) desk.begin(shared);
  views[chosen].start();
  if (focus) at("content").focus();
}

function tellKey() {
  at("key-state").textContent = key.get() ? "Key in use" : "Key";
}

function changeKey(text) {
  key.set(text);
  at("key").value = "";
  at("key-box").open = false;
  tellKey();
  forget();
  at("key-state").focus();
  desk.keyChanged();
  views.menu.keyChanged();
  views[viewOf(location.hash)].start();
}

at("skip").addEventListener("click", (event) => { event.preventDefault(); at("content").focus(); });
at("key-form").addEventListener("submit", (event) => { event.preventDefault(); changeKey(at("key").value.trim()); });
at("key-off").addEventListener("click", () => changeKey(""));
window.addEventListener("hashchange", () => turn(true));
tellKey();
desk.start();
turn(false);
