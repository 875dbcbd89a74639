import { type Answer } from '../kernel/index.js';

/** What the ranking needs of a possible mate; numbers as the pedigree gives them. */
export type MateFigures = {
  readonly id: string;
  readonly registerNumber: string;
  readonly sexKnown: boolean;
  /** Whether no parent of it is recorded, so that it counts as a founder. */
  readonly parentless: boolean;
  /** Whether it is grown up today. */
  readonly adult: Answer;
  /** Inbreeding coefficient that offspring of the two would have: their kinship. */
  readonly offspringInbreeding: number;
  /** Average kinship of the mate with the living. */
  readonly meanKinship: number;
  /** Share of the offspring's ancestry that leads back to founders: mean of the two parents' shares, 0 to 1. */
  readonly knownAncestry: number;
};

/** A mate at its place, with the reason in words. */
export type RankedMate = MateFigures & { readonly place: number; readonly reason: string };

/** Differences below this are rounding of sums of halves, not a difference between animals. */
const EPSILON = 1e-9;

/**
 * Orders mates: least inbreeding of the offspring first; among equals the mate whose line is rarest (lowest mean kinship,
 * which keeps more diversity than avoiding inbreeding alone: Montgomery et al. 1997, Zoo Biol. 16:377); then the better
 * known ancestry; then known before unknown sex and grown up before perhaps; then the register number, so that ties never
 * change places.
 *
 * @param populationMeanKinship average mean kinship of the living, to say whether a line is rare; null when nobody lives
 */
export function rankMates(mates: readonly MateFigures[], populationMeanKinship: number | null): RankedMate[] {
  return mates
    .toSorted(compare)
    .map((mate, index) => ({ ...mate, place: index + 1, reason: reasonOf(mate, populationMeanKinship) }));
}

function compare(a: MateFigures, b: MateFigures): number {
  return (
    difference(a.offspringInbreeding, b.offspringInbreeding) ||
    difference(a.meanKinship, b.meanKinship) ||
    difference(b.knownAncestry, a.knownAncestry) ||
    Number(b.sexKnown) - Number(a.sexKnown) ||
    Number(b.adult === 'yes') - Number(a.adult === 'yes') ||
    (a.registerNumber < b.registerNumber ? -1 : 1)
  );
}

// Rounded to a grid before comparing: comparing pairs "equal within a tolerance" would not be an order.
function difference(a: number, b: number): number {
  return Math.round(a / EPSILON) - Math.round(b / EPSILON);
}

function reasonOf(mate: MateFigures, populationMeanKinship: number | null): string {
  const parts = [
    mate.offspringInbreeding < EPSILON
      ? 'no ancestor shared as far as known'
      : `offspring would be inbred to ${percent(mate.offspringInbreeding)}`,
    ...(populationMeanKinship === null ? [] : [rarity(mate.meanKinship, populationMeanKinship)]),
    mate.knownAncestry > 1 - EPSILON
      ? 'no gap in the recorded ancestry of either'
      : `${percent(mate.knownAncestry)} of the offspring’s ancestry known, so these are lower bounds`,
    ...(mate.parentless ? ['no parents recorded, so it counts as a founder'] : []),
    ...(mate.sexKnown ? [] : ['sex not known']),
    ...(mate.adult === 'possible' ? ['perhaps not grown up yet'] : []),
  ];
  return parts.join('; ');
}

function rarity(meanKinship: number, population: number): string {
  const words =
    meanKinship < population - EPSILON
      ? 'a line rarer than most'
      : meanKinship > population + EPSILON
        ? 'a line more common than most'
        : 'a line as common as most';
  return `${words} (mean kinship ${meanKinship.toFixed(4)}, average ${population.toFixed(4)})`;
}

function percent(share: number): string {
  return `${(share * 100).toFixed(share < 0.01 ? 2 : 1)} %`;
}
