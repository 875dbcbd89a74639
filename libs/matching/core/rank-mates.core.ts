import { type Answer } from '../../kernel/index.js';
import { type DistanceBand } from './distance.core.js';
import { type MateWeights, RANK_PARTS, type RankPart } from './mate-weights.core.js';

/** What the ranking needs of a possible mate; numbers as the pedigree gives them. */
export type MateFigures = {
  readonly sexKnown: boolean;
  /** Whether no parent of it is recorded. */
  readonly parentless: boolean;
  /** Whether it is grown up on the day. */
  readonly adult: Answer;
  /** What its holder says of it as a mate for others; null = nothing. */
  readonly open: boolean | null;
  /** Inbreeding coefficient that offspring of the two would have: their kinship. */
  readonly offspringInbreeding: number;
  /** Average kinship of the mate with the living. */
  readonly meanKinship: number;
  /** Share of the offspring's ancestry that leads back to founders: mean of the two parents' shares, 0 to 1. */
  readonly knownAncestry: number;
  /** Change of the gene diversity of the living by one offspring of the two. */
  readonly geneDiversityChange: number;
  readonly distance: DistanceBand;
};

/** The living with whom the figures were computed. */
export type MatePopulation = { readonly size: number; readonly meanKinship: number | null };

/** How good a mate is in one part, 0 to 1, and the points it got for it: of 100, shared out by the weights. */
export type RankPoints = { readonly part: RankPart; readonly goodness: number; readonly points: number };

/** Differences below this are rounding of sums of halves, not a difference between animals. */
const EPSILON = 1e-9;

/** Bands from near to far; what is not shown stands in the middle, so that hiding is neither rewarded nor punished. */
const NEARNESS: Readonly<Record<DistanceBand, number>> = {
  same_region: 1,
  same_country: 0.6,
  not_shown: 0.5,
  another_country: 0.2,
};
const GROWN_UP: Readonly<Record<Answer, number>> = { yes: 1, possible: 0.5, no: 0 };

/**
 * How good a mate is in each part, 0 to 1, on scales of our own that do not depend on who else is in the list:
 * one minus the inbreeding of the offspring; one minus the mean kinship; the known ancestry; readiness, the mean of grown up
 * (perhaps counts half), sex known (unknown counts half) and open for breeding (nothing said counts half); the change in gene
 * diversity times the size of the population, ½ = none; nearness.
 */
export function goodnessOf(part: RankPart, mate: MateFigures, populationSize: number): number {
  return toGrid(rawGoodness(part, mate, populationSize));
}

function rawGoodness(part: RankPart, mate: MateFigures, populationSize: number): number {
  switch (part) {
    case 'offspringInbreeding':
      return 1 - mate.offspringInbreeding;
    case 'meanKinship':
      return 1 - mate.meanKinship;
    case 'knownAncestry':
      return mate.knownAncestry;
    case 'readiness':
      return (GROWN_UP[mate.adult] + (mate.sexKnown ? 1 : 0.5) + (mate.open === null ? 0.5 : mate.open ? 1 : 0)) / 3;
    case 'geneDiversityChange':
      return Math.min(1, Math.max(0, 0.5 + mate.geneDiversityChange * populationSize));
    case 'distance':
      return NEARNESS[mate.distance];
  }
}

// Rounded to a grid before comparing: comparing pairs "equal within a tolerance" would not be an order.
function toGrid(value: number): number {
  return Math.round(value / EPSILON) * EPSILON;
}

/** What a mate is worth under some weights; the higher the better. */
export function scoreOf(mate: MateFigures, weights: MateWeights, populationSize: number): number {
  let score = 0;
  for (const part of RANK_PARTS) if (weights[part] > 0) score += weights[part] * goodnessOf(part, mate, populationSize);
  return score;
}

/** The points of each part. They sum to 100 for a mate that is as good as can be in every part. */
export function pointsOf(mate: MateFigures, weights: MateWeights, populationSize: number): RankPoints[] {
  const whole = RANK_PARTS.reduce((sum, part) => sum + weights[part], 0);
  return RANK_PARTS.map((part) => {
    const goodness = goodnessOf(part, mate, populationSize);
    return { part, goodness, points: (100 * weights[part] * goodness) / whole };
  });
}

/**
 * Sort order of two mates: the higher score first. Equal ones stand in the order of their register numbers, which are random:
 * so they never change places, and none is first because it was registered first.
 */
export function compareMates(
  a: { readonly score: number; readonly registerNumber: string },
  b: { readonly score: number; readonly registerNumber: string },
): number {
  if (a.score !== b.score) return b.score - a.score;
  return a.registerNumber < b.registerNumber ? -1 : a.registerNumber > b.registerNumber ? 1 : 0;
}

/** Why a mate stands where it stands, in words. */
export function reasonOf(mate: MateFigures, population: MatePopulation): string {
  const parts = [
    mate.offspringInbreeding < EPSILON
      ? 'no ancestor shared as far as known'
      : `offspring would be inbred to ${percent(mate.offspringInbreeding)}`,
    ...(population.meanKinship === null ? [] : [rarity(mate.meanKinship, population.meanKinship)]),
    mate.knownAncestry > 1 - EPSILON
      ? 'no gap in the recorded ancestry of either'
      : `${percent(mate.knownAncestry)} of the offspring’s ancestry known, so these are lower bounds`,
    // Where nothing of the pair's ancestry is unknown, one without parents has been declared a founder.
    ...(mate.parentless ? [mate.knownAncestry > 1 - EPSILON ? 'a declared founder' : 'no parents recorded'] : []),
    ...(mate.sexKnown ? [] : ['sex not known']),
    ...(mate.adult === 'possible' ? ['perhaps not grown up yet'] : []),
    ...(mate.adult === 'no' ? ['not grown up yet'] : []),
    ...(mate.open === null ? [] : [mate.open ? 'open for breeding' : 'not open for breeding now']),
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
