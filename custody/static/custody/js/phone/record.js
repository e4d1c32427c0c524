/** Asking the record itself, where there is a network: what a pocket register does not hold. Nothing of it is kept but in a draft. */

const SECONDS_TO_ANSWER = 20;

/** What stands under an address of the API: `{document}`; or the status of another answer, 0 without one. */
export async function ask(path) {
  const signal = AbortSignal.timeout(SECONDS_TO_ANSWER * 1000);
  const answer = await fetch(`/api/v1${path}`, { cache: "no-store", signal }).catch(() => null);
  const document = answer?.ok ? await answer.json().catch(() => null) : null;
  return document ? { document } : { status: answer?.ok ? 0 : answer?.status ?? 0 };
}
