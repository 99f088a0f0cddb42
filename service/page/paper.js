// Takes a written line apart into amount, item and role. The service reads the amount; here it is only split off.

const PIECES = ("ball bag bean berry block bouquet cheek chunk clove coin cube fan flake flower frond grating grind half head "
  + "leaf peel peppercorn petal pod quarter ribbon ring scoop seed segment sheet slice spear sphere sprig stalk stick strip "
  + "thread tip twist wedge wheel zest each piece whole").split(" ");
// Words the service refuses as amounts for want of a size, which may as well begin the name of a thing.
const NAMES = new Set(("wine fortified single double full top fluid grain grains bag bags can cans box case pin pins c t m gr "
  + "part of glass float rinse").split(" "));
const GLYPH = "[¼½¾⅓⅔⅛⅜⅝⅞]";
const FIGURE = `(?:\\d+ \\d+/\\d+|\\d+/\\d+|\\d+(?:[.,]\\d+)? ?${GLYPH}|\\d+(?:[.,]\\d+)?|\\.\\d+|${GLYPH})`;
const FIRST = new RegExp(`^${FIGURE}`);
const SECOND = new RegExp(`^\\( ?${FIGURE} ?[a-z][a-z ]*\\)`, "i");
const LAST = /(?:^|[,\s]\s*)(garnish|rinse|top|consumable)(?:,?\s+(eaten))?$/i;

let units = new Set("ml cl dl l g kg mg oz ounce ounces tsp tbsp cup cups dash dashes drop drops barspoon barspoons part parts".split(" "));

export function learnUnits(measures) {
  const words = [...measures.measures.flatMap((row) => row.words), ...measures.by_ounce.map((row) => row.word),
    ...Object.keys(measures.house), ...Object.keys(measures.refused).filter((word) => !NAMES.has(word))];
  units = new Set([...units, ...words]);
}

function singular(word) {
  if (PIECES.includes(word)) return word;
  const tries = [word.replace(/ves$/, "f"), word.replace(/ies$/, "y"), word.replace(/es$/, ""), word.replace(/s$/, "")];
  return tries.find((one) => one !== word && PIECES.includes(one)) || null;
}

function unitOf(rest) {
  const words = rest.split(" ");
  for (let count = Math.min(5, words.length); count > 0; count -= 1) {
    const text = words.slice(0, count).join(" ");
    const plain = text.toLowerCase().replace(/\.$/, "");
    if (units.has(plain) || (count === 1 && singular(plain))) return text;
  }
  return "";
}

export function parsed(text) {
  // { amount, name, role, eaten, other }: `other` is the reading where the last word may be a piece ("1 lime wheel").
  let rest = text.normalize("NFC").replace(/\s+/g, " ").replace("⁄", "/").trim();
  const line = { amount: "", name: "", role: "pour", eaten: false, other: null };
  const last = LAST.exec(rest);
  if (last && last.index > 0) {
    line.role = last[1].toLowerCase();
    line.eaten = Boolean(last[2]);
    rest = rest.slice(0, last.index).trim();
  }
  const fill = /^(?:fill(?: up)?|top(?: up)?)(?: with)?(?: |$)/i.exec(rest);
  if (fill) {
    rest = rest.slice(fill[0].length);
    line.role = "top";
    if (!FIRST.test(rest)) return { ...line, amount: "fill", name: rest };
  }
  const figure = FIRST.exec(rest);
  if (!figure) return { ...line, name: rest };
  rest = rest.slice(figure[0].length).trimStart();
  const unit = unitOf(rest);
  rest = rest.slice(unit.length).trimStart();
  line.amount = `${figure[0]} ${unit || "each"}`;
  const second = unit && SECOND.exec(rest);
  if (second) {
    line.amount += ` ${second[0]}`;
    rest = rest.slice(second[0].length).trimStart();
  }
  line.name = rest.replace(/^of /i, "");
  const words = line.name.split(" ");
  const piece = !unit && words.length > 1 && singular(words[words.length - 1].toLowerCase());
  if (piece) line.other = { amount: `${figure[0]} ${words[words.length - 1]}`, name: words.slice(0, -1).join(" ") };
  return line;
}

export function written(line, name) {
  // A line of a spec as a person writes it.
  const amount = typeof line.amount === "string" ? line.amount : `${line.amount.value} ${line.amount.unit}`;
  const role = !line.role || line.role === "pour" || (line.role === "top" && amount === "fill") ? "" : `, ${line.role}`;
  return `${amount.replace(/ each$/, "")} ${name}${role}${line.eaten && role ? " eaten" : ""}`;
}

export function retold(text, name) {
  // The line with another name for its item, as a suggestion puts it.
  const line = parsed(text);
  return written({ ...line, amount: line.amount || "1" }, name);
}
