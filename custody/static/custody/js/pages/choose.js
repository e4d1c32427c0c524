/** Choosing the place, once: from a list, or by scanning what belongs to it. Then what is known about it is fetched and kept. */

import { focusOn, h, redraw, replace } from "../dom.js";
import * as pocket from "../phone/pocket.js";
import { openScanner } from "../scan/scanner.js";
import { readScan } from "../scan/reading.js";
import { say } from "../words.js";

const MANY = 12;
const SIGN_IN = "/sign-in/?next=/at-work/";

/** Ask for the place in `host`; `known` are the places that the phone knows already, else they are asked for. */
export async function choosePlace(host, known = null) {
  const title = h("h1", { tabindex: "-1" }, say("place.which"));
  const said = h("p", { role: "status" });
  const body = h("div", { class: "step-body" });
  replace(host, title, h("p", { class: "lead" }, say(known ? "place.another-how" : "place.which-how")), said, body);
  const { sites, status } = known ? { sites: known } : await listPlaces();
  if (status === 401) return replace(body, h("p", {}, say("place.sign-in-first")), h("p", {}, h("a", { class: "button", href: SIGN_IN }, say("place.sign-in"))));
  if (!sites) return replace(body, h("p", { class: "last ask" }, say("place.no-network")), h("button", { type: "button", onclick: () => location.reload() }, say("place.try-again")));

  const panel = h("div");
  const list = h("ul", { class: "doors-list" });
  const find = h("input", { type: "search", id: "find-place", autocomplete: "off", oninput: draw });
  replace(body, h("p", { class: "field", hidden: sites.length <= MANY }, h("label", { for: find.id }, say("place.find")), find), list, h("p", {}, say("place.or-scan")), panel);
  openScanner(panel, { ask: "item", onScan: (text) => scanned(readScan(text, { items: new Map(), people: new Map(), lots: [], sites, kits: {} })) });
  draw();
  if (known) focusOn(title);

  function draw() {
    const asked = find.value.trim().toLocaleLowerCase();
    const shown = sites.filter((site) => !asked || `${site.name} ${site.code}`.toLocaleLowerCase().includes(asked));
    redraw(list, shown.length ? shown.map((site) => h("li", {}, h("button", { type: "button", class: "quiet", onclick: () => take(site) },
      h("b", {}, site.name), " ", h("span", { class: "code soft" }, site.code)))) : h("li", {}, say("place.none-like-it")));
  }
  function scanned(found) {
    const site = sites.find((each) => each.code === (found.code ?? found.text)?.toUpperCase());
    if (site) take(site);
    else replace(said, say("acts.not-a-label"));
  }
  async function take(site) {
    const lacking = await fetchPocket(site, said);
    if (!lacking) return location.reload();
    replace(said, lacking);
    focusOn(said);
  }
}

/** Fetch what is known about a place and keep it: nothing where that worked, else what to do, as nodes. */
export async function fetchPocket(site, said) {
  replace(said, say("place.fetching", { place: site.name }));
  try {
    await pocket.load(site.code);
    return null;
  } catch (fault) {
    if (fault.status === 401 || fault.status === 403) return [say("place.sign-in-first"), " ", h("a", { class: "tap", href: SIGN_IN }, say("place.sign-in"))];
    return [say("place.not-fetched")];
  }
}

/** The places where whoever is signed in may work: `{sites}`; or the status of another answer, 0 without a network. */
async function listPlaces() {
  const answer = await fetch("/sign-in/who/").catch(() => null);
  return answer?.ok ? answer.json() : { status: answer?.status ?? 0 };
}
