/** A QR code as SVG, drawn in the page: what is on it goes nowhere. */

const SVG = "http://www.w3.org/2000/svg";
const QUIET = 4;
const FILES = JSON.parse(document.getElementById("files").textContent);

/** @param {string} text @param {string} label what it is, for whoever cannot see it @returns {Promise<SVGElement>} */
export async function drawCode(text, label) {
  const { prepareZXingModule, writeBarcode } = await import(FILES.writer);
  prepareZXingModule({ overrides: { locateFile: () => FILES.writerWasm } });
  const { symbol, error } = await writeBarcode(text, { format: "QRCode", options: "ecLevel=Q", scale: 1, addQuietZones: false });
  if (error) throw new Error(error);
  const { data, width } = symbol;
  const path = Array.from(data, (grey, place) => (grey < 128 ? `M${QUIET + (place % width)} ${QUIET + Math.floor(place / width)}h1v1h-1z` : "")).join("");
  const side = width + 2 * QUIET;
  const svg = element("svg", { viewBox: `0 0 ${side} ${side}`, role: "img", "aria-label": label, "shape-rendering": "crispEdges" });
  svg.append(element("rect", { width: side, height: side, fill: "#fff" }), element("path", { d: path, fill: "#000" }));
  return svg;
}

function element(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}
