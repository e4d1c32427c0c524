/** What an answer to a delivery means, where it is not the one that was hoped for. */

const LONGEST_PAUSE = 3600;
/** Refused for good: the same again would be refused again. */
export const REFUSED = [400, 409, 413, 422];

/** In how many seconds it may be tried again, as told; `null` where nothing is. */
export function laterIn(answer) {
  return Math.min(Number(answer.headers.get("Retry-After")) || 0, LONGEST_PAUSE) || null;
}

/**
 * Why it was refused (RFC 9457). An answer of that status that is no such document did not come from the log: it throws, but for
 * "too large", which a machine on the way may say in its own manner, and would say again.
 */
export async function problemIn(answer) {
  const problem = await answer.json().catch(() => null);
  if (typeof problem?.code === "string") return problem;
  if (answer.status === 413) return { code: "too-large" };
  throw new TypeError("no problem document");
}
