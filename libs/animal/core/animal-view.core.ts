import type { Day } from '../../kernel/index.js';
import type { Fate, OriginClass, Sex, When } from './fact.core.js';

/** What a viewer reads of an animal. `record` is null where only lineage is shown. */
export type AnimalView = {
  readonly id: string;
  readonly level: 'full' | 'offered' | 'guest' | 'past' | 'club';
  /** For a past holder: nothing recorded later is shown. */
  readonly readsUntil: Date | null;
  readonly registerNumber: string;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly sex: Sex;
  readonly birthYear: number | null;
  readonly originClass: OriginClass;
  /** By what is stated it descends from more than one taxon. */
  readonly isHybrid: boolean;
  /** Null for a past holder. */
  readonly declaredFounder: boolean | null;
  /** The record of the same animal that goes on in its place; null for a past holder. */
  readonly mergedIntoId: string | null;
  readonly record: AnimalRecord | null;
};

/** The part of a record that does not belong to lineage. */
export type AnimalRecord = {
  readonly name: string | null;
  readonly birth: When | null;
  readonly fate: Fate;
  readonly fateEdtf: string | null;
  readonly count: number;
  readonly countEstimated: boolean;
  readonly lastSeenOn: Day | null;
};

/** The year of birth, where all days it can be lie in one; an exact day is not given away by it. */
export function birthYearOf(birth: Pick<When, 'earliest' | 'latest'> | null): number | null {
  if (birth === null || birth.earliest === null || birth.latest === null) return null;
  const year = birth.earliest.slice(0, 4);
  return year === birth.latest.slice(0, 4) ? Number(year) : null;
}
