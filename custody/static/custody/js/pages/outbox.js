/** What waits to be sent, what the log did not take and why, and what is on record; to be sent now, or carried as a file. */

import { announce, focusOn, h, redraw, replace } from "../dom.js";
import * as outbox from "../phone/outbox.js";
import * as photos from "../phone/photos.js";
import { membersOf } from "../record/envelope.js";
import { say } from "../words.js";
import { startFrame } from "./frame.js";

const host = document.getElementById("outbox");
const said = h("p", { role: "status", class: "lead" });
const lists = h("div");

const world = await startFrame();
replace(host, said, lists);
await draw();
outbox.onChange(draw);

async function draw() {
  const [items, pictures] = [await outbox.list(), await photos.list()];
  const of = (state) => items.filter((item) => item.state === state);
  const [waiting, parked, sent] = [of("waiting"), of("parked"), of("sent").reverse()];
  redraw(lists,
    waiting.length + parked.length + pictures.waiting.length + pictures.parked.length ? null : h("p", { class: "empty" }, say("outbox.empty")),
    waiting.length ? section("outbox.waits", waiting.map((item) => h("li", {}, head(item)))) : null,
    parked.length ? section("outbox.parked", parked.map(refused), h("p", {}, say("outbox.parked-why"))) : null,
    pictures.waiting.length ? h("section", {}, h("h2", { class: "titled" }, say("outbox.photos-wait")), h("p", {}, say("outbox.photos-wait-how", { count: pictures.waiting.length }))) : null,
    pictures.parked.length ? section("outbox.photos-parked", pictures.parked.map(refusedPhoto)) : null,
    waiting.length + parked.length + pictures.waiting.length ? carrying(waiting.length + pictures.waiting.length) : null,
    sent.length ? section("outbox.sent", sent.map((item) => h("li", {}, head(item),
      h("a", { class: "tap", href: `/entries/${item.id}/` }, say("outbox.line", { seq: item.receipt.seq, log: item.receipt.log }))))) : null);
}

function section(title, rows, ...lead) {
  return h("section", {}, h("h2", { class: "titled" }, say(title)), lead, h("ul", { class: "letters" }, rows));
}

function head(item) {
  const at = new Date(membersOf(item.envelope).at);
  const format = { dateStyle: "medium", timeStyle: "short", timeZone: world?.timezone };
  const words = new Intl.DateTimeFormat(document.documentElement.lang, format).format(at);
  return h("p", {}, h("b", {}, item.summary), " ", h("time", { class: "soft", datetime: at.toISOString() }, words));
}

/** A refused entry: why, at the member it is about; trying it again; and taking it off the list. */
function refused(item) {
  const { errors = [] } = item.problem;
  return h("li", {}, head(item), why(item.problem),
    errors.length ? h("ul", {}, errors.map((error) => h("li", {}, h("span", { class: "code" }, say("outbox.at-member", { path: error.path })), ": ", error.detail))) : null,
    ways(item.id, () => outbox.retryParked(item.id), () => outbox.removeParked(item.id)));
}

function refusedPhoto({ sha256, entry, problem }) {
  return h("li", {}, h("p", {}, h("a", { class: "tap", href: `/entries/${entry}/` }, say("outbox.photo", { name: sha256.slice(0, 8) }))), why(problem),
    ways(sha256, () => photos.retry(sha256).then(outbox.send), () => photos.drop(sha256).then(outbox.changed)));
}

function why({ detail = say("outbox.too-large"), code }) {
  return h("p", { class: "lacking" }, detail, " ", h("span", { class: "code soft" }, code));
}

/** What can be done about one that was refused: again, or off the list, in two taps. */
function ways(key, again, remove) {
  const button = h("button", { type: "button", class: "quiet", "data-key": key, onclick: sure }, say("outbox.take-off"));
  return h("div", { class: "buttons" },
    h("button", { type: "button", "data-key": `again ${key}`, onclick: () => tell(again()) }, say("outbox.try-again")),
    button);

  function sure() {
    replace(button, say("outbox.take-off-sure"));
    button.onclick = async () => {
      await remove();
      announce(say("outbox.taken-off"));
    };
    button.removeEventListener("click", sure);
  }
}

function carrying(waiting) {
  return h("section", {}, h("div", { class: "buttons" },
    waiting ? h("button", { type: "button", "data-key": "send", onclick: () => tell(outbox.send()) }, say("outbox.send-now")) : null,
    h("button", { type: "button", class: "quiet", "data-key": "save", onclick: saveFile }, say("outbox.save-file"))),
  h("p", { class: "soft" }, say("outbox.save-file-how")));
}

/** Say how a sending goes. */
async function tell(sending) {
  replace(said, say("outbox.sending"));
  await sending;
  const [{ waiting, parked }, pictures] = [await outbox.count(), await photos.list()];
  replace(said, say(waiting + pictures.waiting.length ? "outbox.could-not" : parked + pictures.parked.length ? "outbox.not-all-taken" : "outbox.done"));
  focusOn(said);
}

async function saveFile() {
  const address = URL.createObjectURL(await outbox.asFile());
  h("a", { href: address, download: `custody-${new Date().toISOString().slice(0, 16).replace(":", "")}.jsonl` }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
