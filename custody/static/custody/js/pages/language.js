/** The other languages of the page: choosing one sets Django's cookie, and has the worker bring the frames in it. */

const DAYS = 365;

export function offerLanguages() {
  for (const button of document.querySelectorAll("button[data-language]")) {
    button.addEventListener("click", () => choose(button.dataset.language));
  }
}

/** Without a network the pages stay as they are kept, and change with the next newer version of them. */
async function choose(language) {
  const secure = location.protocol === "https:" ? "; secure" : "";
  document.cookie = `django_language=${language}; path=/; max-age=${DAYS * 86_400}; samesite=lax${secure}`;
  const registration = await navigator.serviceWorker?.getRegistration("/work/");
  await registration?.update().catch(() => null);
  location.reload();
}
