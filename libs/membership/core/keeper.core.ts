import { type Day } from '../../kernel/index.js';

/** A club as its members see it. */
export type Club = { readonly id: string; readonly slug: string; readonly name: string };

/** A keeper as its own people see it. */
export type Keeper = {
  readonly id: string;
  readonly name: string;
  readonly kind: 'person' | 'house';
  /** ISO 3166-2; for the keeper's own eyes, and what a coordinator's numbers are summed by where holdings are shown. */
  readonly region: string | null;
  readonly holdingsShown: 'nobody' | 'other_party' | 'coordinator' | 'club';
  readonly lineageShared: boolean;
  /** First day on which it counts as an adult's; null where it always has. */
  readonly minorUntil: Day | null;
  /** It is a minor's today, and no guardian has accepted yet. */
  readonly guardianAwaited: boolean;
  readonly clubs: readonly Club[];
};
