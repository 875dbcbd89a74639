/** Kinship of textbook relationships between non-inbred animals without other ties (Wright 1922; Falconer & Mackay ch. 5), closest first. */
const STEPS: readonly (readonly [number, string])[] = [
  [0.25, 'as full siblings, or parent and young'],
  [0.125, 'as half siblings, or grandparent and grandchild'],
  [0.0625, 'as first cousins'],
  [0.03125, 'as half first cousins'],
  [0.015625, 'as second cousins'],
];

/** Rounding of sums of halves: two kinships nearer than this are the same. */
const EPSILON = 1e-12;

/**
 * A kinship (0 to 1) in words. It says how close, not how: many paths can add up to the kinship of half siblings. Zero is
 * "no shared ancestor known", because unknown parents count as unrelated.
 */
export function closeness(kinship: number): string {
  if (kinship < EPSILON) return 'no shared ancestor known';
  const [closest] = STEPS;
  if (closest !== undefined && kinship > closest[0] + EPSILON) return `closer than ${closest[1].slice(3)}`;
  for (const [step, words] of STEPS) {
    if (Math.abs(kinship - step) < EPSILON) return `as close ${words}`;
    if (kinship > step) return `closer than ${words.slice(3)}`;
  }
  return 'more distant than second cousins';
}
