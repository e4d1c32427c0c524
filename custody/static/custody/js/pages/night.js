/** The pages of the night refresh by themselves: only what has changed is exchanged, focus and place on the page stay. */

const PATIENCE = 15_000; // milliseconds that an answer may take

const status = document.getElementById("night-status");
const live = document.getElementById("night-live");
const hold = document.getElementById("night-hold");
let asOf = page().dataset.asOf;
let timer = 0;
let asking = false;
let held = false;

function page() {
  return document.getElementById("night");
}

/** Words of the page, by name, with the time as of which it stands. */
function tell(name) {
  const text = status.dataset[name].replace("{time}", asOf);
  status.classList.toggle("stale", name === "stale" || name === "out");
  if (status.textContent !== text) status.textContent = text;
}

/** In 20 to 30 seconds again: not every screen of an office at the same moment. */
function wait() {
  clearTimeout(timer);
  if (!held) timer = setTimeout(refresh, Number(page().dataset.every) * 1000 * (1 + Math.random() / 2));
}

async function refresh() {
  if (asking || held) return;
  asking = true;
  try {
    const answer = await fetch(page().dataset.address, {
      cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(PATIENCE),
    });
    if (answer.type === "opaqueredirect") tell("out");
    else take(answer.ok ? await answer.text() : "");
  } catch {
    tell("stale");
  } finally {
    asking = false;
    wait();
  }
}

/** Show what came. What is no page of the night, as a proxy may send it, is none. */
function take(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html").getElementById("night");
  if (!fresh) throw new TypeError("not the page that was asked for");
  const before = { said: page().dataset.say, findings: findings(page()) };
  for (const part of fresh.querySelectorAll("[data-part]")) exchange(part);
  for (const name of ["asOf", "say"]) page().dataset[name] = fresh.dataset[name];
  asOf = fresh.dataset.asOf;
  tell("fresh");
  announce(before);
}

function exchange(part) {
  const old = document.getElementById(part.id);
  const inside = old.contains(document.activeElement) ? document.activeElement : null;
  const top = inside?.getBoundingClientRect().top;
  for (const each of old.querySelectorAll("details[open]")) part.querySelector(`#${CSS.escape(each.id)}`)?.setAttribute("open", "");
  if (old.isEqualNode(part)) return;
  old.replaceWith(document.adoptNode(part));
  if (!inside) return;
  const same = alike(part, inside) ?? part.querySelector("h2, a, summary");
  if (!same) return;
  if (same.tabIndex < 0) same.setAttribute("tabindex", "-1");
  same.focus({ preventScroll: true });
  window.scrollBy(0, same.getBoundingClientRect().top - top);
}

/** What the focus goes on with: the same address, or the same kind of element where it has none. */
function alike(part, element) {
  const address = element.getAttribute("href");
  return address ? part.querySelector(`[href="${CSS.escape(address)}"]`) : part.querySelector(element.tagName);
}

function findings(host) {
  return new Map([...host.querySelectorAll("[data-news] p a")].map((each) => [each.href, each.textContent]));
}

/** Only what is new is said: findings that came, and how the places stand where that is another than before. */
function announce(before) {
  const news = [...findings(page())].filter(([key]) => !before.findings.has(key)).map(([, text]) => text);
  if (page().dataset.say !== before.said) news.push(page().dataset.say);
  if (news.length) live.textContent = news.join(" ");
}

hold.hidden = false;
hold.addEventListener("click", () => {
  held = !held;
  hold.setAttribute("aria-pressed", String(held));
  tell(held ? "held" : "fresh");
  if (held) clearTimeout(timer);
  else refresh();
});
document.getElementById("night-refresh").addEventListener("click", (event) => {
  if (status.classList.contains("stale") && status.textContent === status.dataset.out.replace("{time}", asOf)) return;
  if (held) return;
  event.preventDefault();
  refresh();
});
addEventListener("online", refresh);
document.addEventListener("visibilitychange", () => { if (!document.hidden) refresh(); });
tell("fresh");
wait();
