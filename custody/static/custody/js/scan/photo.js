/** A photo of a label: decoded in the page, and by the server where the page finds nothing and there is a network. */

import { decode } from "./decoder.js";

const ADDRESS = "/at-work/photo/";

/** The texts in a photo; none where nobody finds any. @param {File} file @returns {Promise<string[]>} */
export async function readPhoto(file) {
  const found = await decode(file).catch(() => []);
  return found.length ? found : atServer(file);
}

async function atServer(file) {
  const answer = await fetch(ADDRESS, { method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" } }).catch(() => null);
  return answer?.ok ? (await answer.json()).codes : [];
}
