/** What came of a reading: a word, a shape and a colour, so that none is needed to read another. */

/** @typedef {"agrees" | "differs" | "unsure" | "over" | "unread"} Verdict */

/**
 * Shapes within a square from -1 to 1; `solid` is filled, `line` is drawn.
 *
 * @type {Readonly<Record<Verdict, {word: string, solid: string, line: string}>>}
 */
export const VERDICTS = Object.freeze({
  agrees: { word: "as expected", solid: "", line: "M-.75 .05-.2 .6 .8-.6" },
  differs: { word: "differs", solid: "", line: "M-.8-.35H.8M-.8.35H.8M.5-.85-.5.85" },
  unsure: { word: "unsure", solid: "M0-.95 .95 0 0 .95-.95 0Z", line: "" },
  over: { word: "over-range", solid: "", line: "M-.85-.8H.85M0 .9V-.3M-.55.2 0-.35 .55.2" },
  unread: { word: "not read yet", solid: "", line: "M-.7 0A.7.7 0 1 0 .7 0A.7.7 0 1 0-.7 0Z" },
});

/**
 * @param {string} word verdict of the interface on a reading; empty where there is none
 * @returns {Verdict}
 */
export function verdictOf(word) {
  if (word === "") return "unread";
  if (word === "as expected") return "agrees";
  return word === "over-range" ? "over" : "differs";
}

const SVG = "http://www.w3.org/2000/svg";

/**
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} name
 * @param {Record<string, string | number>} [attributes]
 * @returns {SVGElementTagNameMap[K]}
 */
export function drawn(name, attributes = {}) {
  const found = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, String(value));
  return found;
}

/**
 * @param {Verdict} verdict
 * @param {number} size half of its height
 * @param {number} [x]
 * @param {number} [y]
 */
export function verdictShape(verdict, size, x = 0, y = 0) {
  const { solid, line } = VERDICTS[verdict];
  const group = drawn("g", { transform: `translate(${x} ${y}) scale(${size})`, class: "shape" });
  group.dataset.verdict = verdict;
  if (solid) group.append(drawn("path", { d: solid, class: "solid" }));
  if (line) group.append(drawn("path", { d: line, class: "stroke" }));
  return group;
}

/** Styles of shapes, for the shadow roots that show them. */
export const SHAPE_STYLE = `
  [data-verdict="agrees"] { --of-verdict: var(--agrees); --of-verdict-wash: var(--agrees-wash); }
  [data-verdict="differs"] { --of-verdict: var(--differs); --of-verdict-wash: var(--differs-wash); }
  [data-verdict="unsure"] { --of-verdict: var(--unsure); --of-verdict-wash: var(--unsure-wash); }
  [data-verdict="over"] { --of-verdict: var(--over); --of-verdict-wash: var(--over-wash); }
  [data-verdict="unread"] { --of-verdict: var(--unread); --of-verdict-wash: var(--unread-wash); }
  .shape .solid { fill: var(--of-verdict); }
  .shape .stroke { fill: none; stroke: var(--of-verdict); stroke-width: 0.36; stroke-linecap: round; stroke-linejoin: round; }
  .shape[data-verdict="unread"] .stroke { stroke-width: 0.2; }
`;
