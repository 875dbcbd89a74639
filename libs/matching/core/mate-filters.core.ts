import { addDays, type Day, type FieldProblem } from '../../kernel/index.js';
import { type DistanceBand } from './distance.core.js';

/** What a search for mates leaves out. */
export type MateFilters = {
  /** Highest kinship of the pair, which is the inbreeding of their offspring; 1 = any. */
  readonly maxKinship: number;
  /** Lowest share of the offspring's ancestry that is known; 0 = any. */
  readonly minKnownAncestry: number;
  /** Distance bands that are kept. `not_shown` is one of its own: a filter never tells what the list does not. */
  readonly distances: readonly DistanceBand[];
  /** Only those their holders call open for breeding. */
  readonly onlyAvailable: boolean;
  readonly sexKnownOnly: boolean;
  /** Keep those that are surely not grown up on the day. */
  readonly includeYoung: boolean;
  /** Keep animals of other lines of the taxon. */
  readonly otherLines: boolean;
  /** The day for which age, quarantine and availability are asked. */
  readonly on: Day;
};

/** Filters as a caller gives them; what is left out filters nothing. */
export type FilterInput = { readonly [K in keyof MateFilters]?: MateFilters[K] | null | undefined };

/** Longest look ahead: further on, neither quarantine nor availability says anything. */
export const MAX_DAYS_AHEAD = 3660;

/** The filters of a search on `today`, with what was left out filled in. */
export function fillFilters(input: FilterInput, today: Day): MateFilters {
  return {
    maxKinship: input.maxKinship ?? 1,
    minKnownAncestry: input.minKnownAncestry ?? 0,
    distances: input.distances ?? ['same_region', 'same_country', 'another_country', 'not_shown'],
    onlyAvailable: input.onlyAvailable ?? false,
    sexKnownOnly: input.sexKnownOnly ?? false,
    includeYoung: input.includeYoung ?? false,
    otherLines: input.otherLines ?? false,
    on: input.on ?? today,
  };
}

/** What is wrong with filters, each with its remedy; none = sound. */
export function filterProblems(filters: MateFilters, today: Day): FieldProblem[] {
  const problems: FieldProblem[] = [];
  const share = (name: 'maxKinship' | 'minKnownAncestry'): void => {
    const value = filters[name];
    if (Number.isFinite(value) && value >= 0 && value <= 1) return;
    problems.push({
      path: `filters.${name}`,
      message: 'This is a share from 0 to 1.',
      remedy: name === 'maxKinship' ? 'Half siblings have 0.125, first cousins 0.0625.' : 'Half known is 0.5.',
    });
  };
  share('maxKinship');
  share('minKnownAncestry');
  if (filters.distances.length === 0)
    problems.push({
      path: 'filters.distances',
      message: 'No distance is kept, so there is nothing to find.',
      remedy: 'Name the bands to keep, or leave the filter out.',
    });
  if (filters.on < today || filters.on > addDays(today, MAX_DAYS_AHEAD))
    problems.push({
      path: 'filters.on',
      message: `Mates are sought for today or a day of the next ${MAX_DAYS_AHEAD} days.`,
      remedy: 'Name such a day, or leave it out for today.',
    });
  return problems;
}
