/** How far a holder is, as far as that is told: no coordinates are kept, so nobody can be found by asking many times. Nearest first. */
export const DISTANCE_BANDS = ['same_region', 'same_country', 'another_country', 'not_shown'] as const;
export type DistanceBand = (typeof DISTANCE_BANDS)[number];

/** Fewest holders of a line in the club for which regions are compared at all: with fewer, a region would point at one keeper. */
export const FEWEST_HOLDERS = 5;

/** Band between two ISO 3166-2 codes. `shown` is whether the holder shows their holdings to the viewer. */
export function distanceBand(
  own: string | null,
  other: string | null,
  shown: boolean,
  holdersOfLine: number,
): DistanceBand {
  if (!shown || own === null || other === null || holdersOfLine < FEWEST_HOLDERS) return 'not_shown';
  if (own === other) return 'same_region';
  return own.slice(0, 2) === other.slice(0, 2) ? 'same_country' : 'another_country';
}
