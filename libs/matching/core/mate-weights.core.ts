import { type FieldProblem } from '../../kernel/index.js';

/** The parts a ranking is made of, in the order in which they weigh when nothing else is said. */
export const RANK_PARTS = [
  'offspringInbreeding',
  'meanKinship',
  'knownAncestry',
  'readiness',
  'geneDiversityChange',
  'distance',
] as const;
export type RankPart = (typeof RANK_PARTS)[number];

/** How much each part counts. */
export type MateWeights = Readonly<Record<RankPart, number>>;

/** Weights as a caller gives them; a part left out weighs nothing. */
export type WeightInput = { readonly [K in RankPart]?: number | null | undefined };

/**
 * The order where a caller gives no weights: each part a thousand times the next, so that a later one decides only between
 * animals that are equal by the earlier ones. First the inbreeding of the young, the harm that cannot be undone; then the
 * rarer line, because breeding from low mean kinships keeps more diversity than avoiding inbreeding alone (Montgomery et al. 1997,
 * Zoo Biol. 16:377); then the better known ancestry, because the numbers before it are lower bounds; then whether it could breed at
 * once. The change in gene diversity says what the first two say together, and distance is the keepers' affair: both weigh nothing
 * until somebody asks for them.
 */
export const DEFAULT_WEIGHTS: MateWeights = {
  offspringInbreeding: 1e9,
  meanKinship: 1e6,
  knownAncestry: 1e3,
  readiness: 1,
  geneDiversityChange: 0,
  distance: 0,
};

/** Largest weight: beyond it rounding would decide. */
export const MAX_WEIGHT = 1e9;

/** The weights of a search: the caller's, or the default ones. */
export function fillWeights(input: WeightInput | null | undefined): MateWeights {
  if (input === null || input === undefined) return DEFAULT_WEIGHTS;
  const weights = Object.fromEntries(RANK_PARTS.map((part) => [part, input[part] ?? 0]));
  return weights as Record<RankPart, number>;
}

/** What is wrong with weights, each with its remedy; none = sound. */
export function weightProblems(weights: MateWeights): FieldProblem[] {
  const problems = RANK_PARTS.flatMap((part): FieldProblem[] =>
    Number.isFinite(weights[part]) && weights[part] >= 0 && weights[part] <= MAX_WEIGHT
      ? []
      : [
          {
            path: `weights.${part}`,
            message: 'A weight is a number from 0 to 1,000,000,000.',
            remedy: 'Write 0 for what should not count, and larger numbers for what should count more.',
          },
        ],
  );
  if (problems.length === 0 && RANK_PARTS.every((part) => weights[part] === 0))
    problems.push({
      path: 'weights',
      message: 'No part weighs anything, so there is no order.',
      remedy: 'Give at least one part a weight above 0, or leave weights out.',
    });
  return problems;
}
