/** Fields whose text stands in an address: a badge that is scanned into one says who somebody is, and its secret stays here. */

import { withoutSecret } from "../record/badge.js";

document.addEventListener("submit", ({ target: form }) => {
  if (form.method !== "get") return;
  for (const field of form.querySelectorAll("input")) field.value = withoutSecret(field.value);
});
