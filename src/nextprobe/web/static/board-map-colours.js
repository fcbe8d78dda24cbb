/** Colours of the theme as a canvas needs them, and when they change. */

const NAMES = /** @type {const} */ ([
  "paper", "sheet", "sunken", "ink", "ink-quiet", "rule", "rule-strong", "mark", "on-mark", "board",
  "board-edge", "body", "body-edge", "copper", "copper-edge", "target", "suspicion-1", "suspicion-2",
  "suspicion-3", "suspicion-4", "suspicion-5", "on-pad", "on-pad-5", "agrees", "differs", "unsure", "over", "unread",
]);

/** @typedef {Record<(typeof NAMES)[number] | "font" | "figures", string>} Colours */

/**
 * @param {HTMLElement} probe an element of the page that nobody sees
 * @returns {Colours}
 */
export function coloursOf(probe) {
  const found = /** @type {Colours} */ ({});
  for (const name of NAMES) {
    probe.style.color = `var(--${name})`;
    found[name] = getComputedStyle(probe).color;
  }
  const style = getComputedStyle(probe);
  found.font = style.getPropertyValue("--font").trim() || "sans-serif";
  found.figures = style.getPropertyValue("--font-figures").trim() || "sans-serif";
  return found;
}

/**
 * @param {() => void} tell called when the theme changes
 * @param {AbortSignal} until
 */
export function watchTheme(tell, until) {
  for (const query of ["(prefers-color-scheme: dark)", "(prefers-contrast: more)"]) {
    matchMedia(query).addEventListener("change", tell, { signal: until });
  }
  const watcher = new MutationObserver(tell);
  watcher.observe(document.documentElement, { attributeFilter: ["data-theme"] });
  until.addEventListener("abort", () => watcher.disconnect());
}
