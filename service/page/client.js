// Asks the service. The key lives in this tab's session storage and goes out in one header alone.

const PLACE = "washline-key";

export const key = {
  get: () => sessionStorage.getItem(PLACE) || "",
  set: (text) => (text ? sessionStorage.setItem(PLACE, text) : sessionStorage.removeItem(PLACE)),
};

export class Refusal extends Error {
  // What the service would not do, in its own words; `errors` has a JSON Pointer per fault.
  constructor(status, body) {
    super(body.detail || "The service refused this.");
    this.status = status;
    this.code = (body.type || "").replace("urn:washline:problem:", "");
    this.errors = Array.isArray(body.errors) ? body.errors : [];
  }
}

export async function sent(path, { method = "GET", body, headers = {}, signal } = {}) {
  const more = { Accept: "application/json", ...headers };
  if (key.get()) more.Authorization = `Bearer ${key.get()}`;
  if (body !== undefined && !(body instanceof Blob)) {
    more["Content-Type"] = "application/json";
    body = JSON.stringify(body);
  }
  const options = { method, body, headers: more, signal, credentials: "omit", redirect: "error" };
  const answer = await fetch(new URL(path, document.baseURI), options);
  if (answer.ok) return answer;
  let problem = {};
  try { problem = await answer.json(); } catch { /* an answer of something between us and the service */ }
  throw new Refusal(answer.status, problem);
}

export async function asked(path, options) {
  return (await sent(path, options)).json();
}

export async function allEntries(kind, most = 500) {
  const found = [];
  let token = "";
  do {
    const page = await asked(`v1/${kind}?page_size=100${token && `&page_token=${encodeURIComponent(token)}`}`);
    found.push(...page.entries);
    token = page.next_page_token;
  } while (token && found.length < most);
  return found;
}

export async function orNothing(promise, ...statuses) {
  // What was asked for, or null where the answer is one of these refusals.
  try { return await promise; } catch (fault) {
    if (fault instanceof Refusal && statuses.includes(fault.status)) return null;
    throw fault;
  }
}

export function inWords(fault) {
  if (fault instanceof Refusal) {
    if (fault.status === 401) return "This service needs a key, or does not know this one. Put it in under Key.";
    if (fault.status === 403) return `This key may not do that. ${fault.message}`;
    if (fault.status === 429) return "This key has asked too much for this minute. It goes on in the next one.";
    if (fault.status === 503) return "The service is busy now. Try it once more.";
    return [fault.message, ...fault.errors.slice(0, 5).map((row) => row.detail)].join(" ");
  }
  return "The service cannot be reached. What you wrote is still here.";
}
