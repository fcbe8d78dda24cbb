/** Style of the picture of a connector. */

import { SHAPE_STYLE } from "./verdicts.js";

export const STYLE = `${SHAPE_STYLE}
  :host { display: block; color: var(--ink); font-family: var(--font); }
  .legend { display: flex; flex-wrap: wrap; gap: 0.25rem 1.1rem; margin: 0 0 0.5rem; padding: 0; list-style: none; font-size: var(--text-small); color: var(--ink-quiet); }
  .legend li { display: inline-flex; align-items: center; gap: 0.35rem; }
  .note { margin: 0 0 0.5rem; font-size: var(--text-small); color: var(--ink-quiet); }
  .stage { width: fit-content; max-width: 100%; border: 1px solid var(--rule-strong); background: var(--sheet); }
  svg { display: block; max-width: none; font-family: var(--font-figures); }
  text { fill: var(--ink); font-variant-numeric: tabular-nums; }
  .stage:has(svg) { display: flex; }
  .stage > svg { flex: none; }
  svg.axis { position: sticky; left: 0; background: var(--sheet); border-right: 1px solid var(--rule); }
  .axis text { font-size: 12px; fill: var(--ink-quiet); }
  .axis .end { text-anchor: end; }
  .axis .unit { font-size: 14px; font-weight: 600; fill: var(--ink); }
  .tick { stroke: var(--rule-strong); }
  .grid line { stroke: var(--rule); }
  .housing { fill: var(--body); stroke: var(--body-edge); }
  .plate { fill: var(--copper); stroke: var(--copper-edge); }
  .number { fill: var(--on-pad); text-anchor: middle; font-size: 16px; font-weight: 700; }
  .value { text-anchor: middle; font-size: 14px; font-weight: 600; }
  .none { text-anchor: middle; font-size: 11px; fill: var(--ink-quiet); }
  .touch { fill: transparent; }
  .pin { cursor: pointer; }
  .pin:hover .touch { fill: var(--sunken); fill-opacity: 0.6; }
  .lane { fill: var(--sheet); stroke: var(--rule-strong); stroke-dasharray: 2 2; }
  .line { stroke: var(--rule-strong); }
  .healthy { fill: none; stroke: var(--ink-quiet); stroke-width: 1.4; stroke-linejoin: round; }
  .now { fill: var(--mark); fill-opacity: 0.5; stroke: var(--mark); stroke-width: 1.2; stroke-linejoin: round; }
  .beyond { fill: none; stroke: var(--mark); stroke-width: 2; }
  .band { fill: none; stroke: var(--ink); stroke-width: 1.5; }
  .read { stroke: var(--of-verdict); stroke-width: 3; }
  .back { fill: var(--sheet); }
  .target .plate { fill: var(--target); stroke: var(--target); }
  .target .number { fill: var(--on-mark); }
  .target .touch { stroke: var(--target); stroke-width: 3; }
  .pin[aria-selected="true"] .touch { fill: var(--mark-wash); fill-opacity: 0.7; stroke: var(--ink); stroke-width: 2; }
  .details { min-height: 7rem; padding: 0.75rem 0; }
  .details p { margin: 0 0 0.5rem; }
  .details .big { font-size: 1.5rem; font-weight: 600; margin-left: 0.5rem; }
  .word { color: var(--of-verdict); }
  dl { display: grid; grid-template-columns: auto 1fr; gap: 0.2rem 1rem; margin: 0; }
  dt { color: var(--ink-quiet); }
  dd { margin: 0; overflow-wrap: anywhere; }
  details { border-top: 1px solid var(--rule); }
  @media (max-width: 36rem) { dl { grid-template-columns: 1fr; gap: 0; } dd { margin-bottom: 0.5rem; } }
`;
