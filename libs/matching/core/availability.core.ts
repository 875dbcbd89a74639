import { type Day, type Decision, decide, type FieldProblem, refuse } from '../../kernel/index.js';

/** How a holder would part with an animal for breeding. */
export const BREEDING_OFFERS = ['loan', 'exchange', 'sale', 'gift'] as const;
export type BreedingOffer = (typeof BREEDING_OFFERS)[number];

/** What a holder says of an animal as a mate for others. */
export type Availability = {
  readonly open: boolean;
  /** The last day on which it holds; null = until it is said otherwise. */
  readonly until: Day | null;
  readonly offers: readonly BreedingOffer[];
};

/** What it takes to say it: null = nothing is said any more. Given after the keeper was found to have the animal. */
export function decideAvailability(
  animal: { readonly kind: 'individual' | 'lot'; readonly fate: string },
  said: Availability | null,
): Decision<Availability | null> {
  if (animal.kind === 'lot')
    return refuse('NOT_AN_INDIVIDUAL', 'This is said of single animals. Raise an animal out of the lot first.');
  // What was said can be taken back whatever became of the animal.
  if (said !== null && animal.fate !== 'alive')
    return refuse('ANIMAL_NOT_ALIVE', 'The animal is not recorded as alive. Correct its fate if that is wrong.');
  return decide(said);
}

/** What is wrong with what is said, each with its remedy; none = sound. */
export function availabilityProblems(said: Availability, today: Day): FieldProblem[] {
  const problems: FieldProblem[] = [];
  if (said.until !== null && said.until < today)
    problems.push({
      path: 'input.until',
      message: 'The last day is past.',
      remedy: 'Name today or a later day, or leave it out.',
    });
  if (!said.open && said.offers.length > 0)
    problems.push({
      path: 'input.offers',
      message: 'What is not open for breeding is not offered for it.',
      remedy: 'Leave offers out, or set open to true.',
    });
  return problems;
}

/** What holds on a day: null where nothing was said, or its last day is over. */
export function availabilityOn(said: Availability | null, day: Day): Availability | null {
  return said === null || (said.until !== null && said.until < day) ? null : said;
}
