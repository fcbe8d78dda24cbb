/** Shadow roots of our elements, with styles that a strict content security policy lets through. */

import { unbroken } from "./quantities.js";

const SHARED = `
  *, ::before, ::after { box-sizing: border-box; }
  [hidden] { display: none !important; }
  :focus { outline: none; }
  :focus-visible { outline: 3px solid var(--mark); outline-offset: 2px; border-radius: var(--corner); }
  .away { position: absolute; width: 1px; height: 1px; margin: -1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
  .figure { font-family: var(--font-figures); font-variant-numeric: tabular-nums lining-nums; }
  .key {
    display: inline-flex; align-items: center; justify-content: center; gap: 0.5rem;
    min-height: var(--touch); min-width: var(--touch); padding: 0.25rem 0.9rem;
    font: 600 1rem/1.15 var(--font); color: var(--ink); background: var(--sheet);
    border: 1px solid var(--rule-strong); border-bottom-width: 4px; border-radius: 4px;
    cursor: pointer; touch-action: manipulation;
  }
  .key:hover { background: var(--sunken); border-color: var(--ink); }
  .key[aria-pressed="true"] { background: var(--mark-wash); border-color: var(--mark); border-bottom-width: 1px; box-shadow: inset 0 3px var(--mark); }
  .key:disabled { color: var(--ink-quiet); border-style: dashed; cursor: not-allowed; }
  input {
    min-height: var(--touch); width: 100%; padding: 0.25rem 0.75rem; font: inherit; font-size: 1.0625rem;
    color: var(--ink); background: var(--sheet); border: 1px solid var(--rule-strong);
    border-bottom-width: 2px; border-radius: var(--corner);
  }
  ::placeholder { color: var(--ink-quiet); opacity: 1; }
  table { width: 100%; border-collapse: collapse; font-size: 0.9375rem; }
  caption { text-align: left; font-size: var(--text-small); color: var(--ink-quiet); padding: 0 0 0.5rem; }
  th { text-align: left; font-size: var(--text-small); font-weight: 600; color: var(--ink-quiet); border-bottom: 2px solid var(--ink); padding: 0.25rem 0.5rem; vertical-align: bottom; }
  td { border-bottom: 1px solid var(--rule); padding: 0.5rem; vertical-align: top; }
  tbody th { font-size: inherit; color: var(--ink); border-bottom: 1px solid var(--rule); padding: 0.5rem; vertical-align: top; }
  td.figure, th.figure { text-align: right; }
  summary { display: flex; align-items: center; gap: 0.75rem; min-height: var(--touch); cursor: pointer; font-weight: 600; list-style: none; }
  summary::-webkit-details-marker { display: none; }
  summary::before { content: ""; width: 0.7rem; height: 0.7rem; border: solid var(--ink); border-width: 0 2px 2px 0; transform: rotate(-45deg); margin: 0 0.2rem; }
  details[open] > summary::before { transform: rotate(45deg) translate(-0.15rem, -0.15rem); }
  .scroll { overflow: auto; overscroll-behavior: contain; }
  @media (prefers-reduced-motion: reduce) { * { animation: none !important; transition: none !important; } }
`;

/** @type {Map<string, CSSStyleSheet>} */
const sheets = new Map();

/** @param {string} text */
function sheetOf(text) {
  let sheet = sheets.get(text);
  if (!sheet) {
    sheet = new CSSStyleSheet();
    sheet.replaceSync(text);
    sheets.set(text, sheet);
  }
  return sheet;
}

/**
 * @param {HTMLElement} host
 * @param {string} style
 * @returns {ShadowRoot}
 */
export function shadowOf(host, style) {
  const root = host.attachShadow({ mode: "open" });
  root.adoptedStyleSheets = [sheetOf(SHARED), sheetOf(style)];
  return root;
}

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} name
 * @param {Record<string, string>} [attributes]
 * @param {...(Node | string)} inside
 * @returns {HTMLElementTagNameMap[K]}
 */
export function made(name, attributes = {}, ...inside) {
  const found = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, value);
  found.append(...inside.map((each) => (typeof each === "string" ? unbroken(each) : each)));
  return found;
}

/**
 * Leave the focus where it is when something is touched: the next key, which may be a foot switch,
 * is meant for the step and not for what was touched. The tabulator still reaches it.
 *
 * @param {HTMLElement} element
 * @param {string} [within] only what matches
 */
export function keepFocus(element, within) {
  element.addEventListener("mousedown", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (!within || target.closest(within)) event.preventDefault();
  });
}

/**
 * @param {string} text
 * @param {string} said what it does, in full
 * @param {() => void} act
 * @param {string} [shortcut]
 */
export function key(text, said, act, shortcut = "") {
  const found = made("button", { type: "button", class: "key", "aria-label": said }, text);
  found.title = shortcut ? `${said} (${shortcut})` : said;
  if (shortcut) found.setAttribute("aria-keyshortcuts", shortcut);
  found.addEventListener("click", act);
  keepFocus(found);
  return found;
}
