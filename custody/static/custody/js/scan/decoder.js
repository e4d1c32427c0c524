/** Decodes QR codes, and the bar codes that makers print on seals, from pictures, in the page. Loaded when first needed. */

const FORMATS = ["QRCode", "DataMatrix", "Code128", "Code39"];
const FILES = JSON.parse(document.getElementById("files").textContent);

let loading = null;

/** The texts in a picture, each once. @param {ImageData | Blob} picture @returns {Promise<string[]>} */
export async function decode(picture) {
  const { readBarcodes } = await prepare();
  const found = await readBarcodes(picture, { formats: FORMATS, tryHarder: true, maxNumberOfSymbols: 4 });
  return [...new Set(found.filter((each) => each.isValid && each.text).map((each) => each.text))];
}

/** Fetch it; without a network it comes from what the service worker kept. */
export function prepare() {
  loading ??= import(FILES.reader).then(async (reader) => {
    await reader.prepareZXingModule({ overrides: { locateFile: () => FILES.readerWasm }, fireImmediately: true });
    return reader;
  }).catch((fault) => {
    loading = null;
    throw fault;
  });
  return loading;
}
