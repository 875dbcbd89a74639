import { type NewAnimal, type OriginClass, type Sex } from '../../animal/index.js';
import { type Day, type UncertainDay } from '../../kernel/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { type KnownAnswer } from '../core/breeding.core.js';

/** One of the young, or (`count` above 1) a lot of them that is kept together. */
export type Youngling = {
  readonly name: string | null;
  readonly sex: Sex | null;
  readonly marks: NewAnimal['marks'];
  /** The egg it came out of; null = not known. Twins name the same one. */
  readonly eggNumber: number | null;
  readonly count: number;
  readonly countEstimated: boolean;
};

/** One parent as the caller names it; undefined = as the registry proposes. No candidates = not known. */
export type NamedParent = {
  readonly basis: ParentageBasis;
  readonly candidates: readonly { readonly parentId: string; readonly probability: number }[];
};

export type HatchlingsCommand = {
  /** Null = found young: no clutch is on record. */
  readonly clutchId: string | null;
  /** Whose they are; the keeper who recorded the clutch when null. */
  readonly keeperId: string | null;
  /** Of found young; the clutch knows its own. */
  readonly taxonId: string | null;
  readonly lineId: string | null;
  readonly when: UncertainDay | null;
  readonly controlled: KnownAnswer;
  readonly originClass: OriginClass | null;
  readonly since: Day | null;
  /** Where they are put, or were found. */
  readonly enclosureId: string | null;
  readonly young: readonly Youngling[];
  readonly dam: NamedParent | undefined;
  readonly sire: NamedParent | undefined;
};
