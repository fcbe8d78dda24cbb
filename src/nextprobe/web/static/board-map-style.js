/** Style of the map. */

export const STYLE = `
  :host { display: block; color: var(--ink); font-family: var(--font); }
  .whole { display: flex; flex-direction: column; height: 100%; }
  .bar { display: flex; flex-wrap: wrap; gap: 0.5rem; padding-bottom: 0.5rem; }
  .bar form { flex: 1 1 14rem; }
  .keys { display: flex; gap: 0.5rem; flex: 0 1 auto; }
  /* Keys and legend take more lines here: a height that a page has set would cut them off. */
  @media (max-width: 36rem) { :host { height: auto !important; } .keys { flex: 1; } .keys .key { flex: 1; } }
  .stage { position: relative; flex: 1 1 24rem; min-height: 11rem; border: 1px solid var(--rule-strong); background: var(--sunken); overflow: hidden; }
  canvas { position: absolute; inset: 0; width: 100%; height: 100%; touch-action: none; cursor: crosshair; display: block; }
  canvas:focus-visible { outline-offset: -4px; }
  .face { position: absolute; top: 0; left: 0; padding: 0.25rem 0.6rem; background: var(--ink); color: var(--sheet); font-weight: 600; font-size: 0.875rem; pointer-events: none; }
  .face.arranged { top: auto; bottom: 0; }
  .empty { position: absolute; inset: 0; display: grid; place-content: center; text-align: center; padding: 1rem; color: var(--ink-quiet); pointer-events: none; }
  .said { margin: 0; padding: 0.6rem 0; min-height: 3.2rem; line-height: 1.35; border-bottom: 1px solid var(--rule); }
  .said strong { font-family: var(--font-figures); font-size: var(--text-large); }
  .heat { margin: 0; padding: 0.5rem 0 0.5rem 0.75rem; border-left: 4px dashed var(--differs); font-size: 0.9375rem; }
  .legend { display: flex; flex-wrap: wrap; gap: 0.25rem 1.1rem; margin: 0; padding: 0.5rem 0 0; list-style: none; font-size: var(--text-small); color: var(--ink-quiet); align-items: center; }
  .legend li { display: inline-flex; align-items: center; gap: 0.4rem; }
  .legend svg { flex: none; overflow: visible; }
  .level-1 rect { fill: var(--suspicion-1); stroke: var(--body-edge); }
  .level-2 rect { fill: var(--suspicion-2); stroke: var(--body-edge); }
  .level-3 rect { fill: var(--suspicion-3); stroke: var(--ink); }
  .level-4 rect { fill: var(--suspicion-4); stroke: var(--ink); }
  .level-5 rect { fill: var(--suspicion-5); stroke: var(--ink); }
  .legend path { stroke: var(--on-pad); stroke-width: 1.5; fill: none; }
  .level-5 path { stroke: var(--on-pad-5); }
`;
