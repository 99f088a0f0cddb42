// Elements made by hand. Text only ever becomes a text node, so that no name can become markup.

const SVG = "http://www.w3.org/2000/svg";

export const at = (id) => document.getElementById(id);

function made(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat(9)) {
    if (child === null || child === undefined || child === false) continue;
    node.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  return node;
}

export const el = (name, attributes, ...children) => made(document.createElement(name), attributes, children);

export const svg = (name, attributes, ...children) => made(document.createElementNS(SVG, name), attributes, children);

export function table(caption, heads, rows, name = "") {
  // A table that stacks on a small screen; each cell knows its heading. The first cell of a row heads it.
  return el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption },
    el("table", { class: `stack ${name}` },
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, rows.map((cells) => el("tr", {}, cells.map((cell, place) => place
        ? el("td", { "data-label": heads[place] }, el("div", {}, cell)) : el("th", { scope: "row" }, cell)))))));
}

export function panel(title, ...parts) {
  // What a button of the desk opened, with a way to close it that leads back to where one was.
  const from = document.activeElement;
  const close = () => { at("panel").replaceChildren(); (from?.isConnected && from !== document.body ? from : at("name")).focus(); };
  at("panel").replaceChildren(el("section", {}, el("div", { class: "head" }, el("h2", {}, title),
    el("button", { type: "button", "aria-label": `Close: ${title}`, onclick: close }, "Close")), parts));
}

export const options = (select, rows, chosen) => select.replaceChildren(
  ...rows.map(([value, text]) => el("option", { value, selected: value === chosen }, text)));

export const spoken = (word) => String(word).replaceAll("_", " ").replaceAll("-", " ");

export const listed = (words) => words.length < 2 ? words.join("")
  : `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
