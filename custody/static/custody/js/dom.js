/** Making and showing parts of a page. Text goes in as text, never as markup. */

/**
 * An element: `h("p", {class: "soft"}, "Nothing here")`. An attribute that is `null` or `false` is left out, one that is
 * `true` stands without a value, a function under `onclick` and the like listens. Children that are `null` or `false` are left out.
 * @param {string} tag
 * @param {Record<string, any>} [attributes]
 * @param {...any} children nodes, texts, numbers, or lists of them
 * @returns {HTMLElement}
 */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (typeof value === "function") element.addEventListener(name.replace(/^on/, ""), value);
    else if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...shown(children));
  return element;
}

/** What `host` shows from now on, and nothing else. */
export function replace(host, ...children) {
  host.replaceChildren(...shown(children));
  return host;
}

/**
 * The same, where the focus may be inside: it goes on with the part that has the same `data-key`, else with the first heading.
 */
export function redraw(host, ...children) {
  const before = host.contains(document.activeElement) ? document.activeElement : null;
  replace(host, ...children);
  if (!before) return;
  const same = before.dataset.key && host.querySelector(`[data-key="${CSS.escape(before.dataset.key)}"]`);
  focusOn(same || host.querySelector("h2, legend, summary") || host);
}

function shown(children) {
  return children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false)
    .map((child) => (child instanceof Node ? child : String(child)));
}

/** Have a screen reader say something, politely. The same words said again are heard again. */
export function announce(text) {
  const region = document.getElementById("live");
  region.textContent = "";
  setTimeout(() => { region.textContent = text; }, 50);
}

/** Move the focus to an element, which need not be one that takes it by itself. */
export function focusOn(element) {
  if (element.tabIndex < 0 && !element.hasAttribute("tabindex")) element.setAttribute("tabindex", "-1");
  element.focus();
}
