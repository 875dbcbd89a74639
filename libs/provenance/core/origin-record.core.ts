import type { Answer, Day, DaySpan } from '../../kernel/index.js';

/** Where an animal comes from, as claimed. */
export type OriginClaim = 'bred' | 'wild' | 'ranched' | 'unknown';

/** How a keeper came by an animal. */
export type AcquisitionManner = 'wild_taken' | 'bought' | 'gift' | 'bred_here' | 'confiscated' | 'unknown';

export type KnownAnswer = 'yes' | 'no' | 'unknown';

export type ParentageBasis = 'observed' | 'shared_enclosure' | 'declared' | 'genetic_test';

/** One entry of the records: which fact, written down on which day, for which keeper (null = not told). */
export type Entry = { readonly factId: string; readonly recordedOn: Day; readonly keeperId: string | null };

/** An entry about something that happened on one of the days of `when`. */
export type Dated = Entry & { readonly when: DaySpan };

export type Acquisition = Dated & { readonly manner: AcquisitionManner };

export type Mating = Dated & { readonly controlled: KnownAnswer; readonly basis: ParentageBasis };

export type Laying = Dated & {
  readonly controlled: KnownAnswer;
  /** Null where it is one of several. */
  readonly damId: string | null;
  readonly eggCount: number | null;
};

export type Hatching = Dated & { readonly controlled: KnownAnswer };

/** A claim on one parent; `parentId` null = several candidates, none of them certain. */
export type ParentStatement = Entry & { readonly basis: ParentageBasis; readonly parentId: string | null };

/** Days in one enclosure, half-open, and whether it is a controlled environment on all of them. */
export type Stay = { readonly from: Day; readonly to: Day | null; readonly controlled: KnownAnswer };

/** A period with a holder, half-open; `known` is false for days on which nobody is named. */
export type HeldPeriod = {
  readonly from: Day;
  readonly to: Day | null;
  readonly known: boolean;
  readonly recordedOn: Day;
};

/**
 * Generations away from the wild: the lowest that is shown and the highest that is possible; null = no highest is known.
 * Own derivation from CITES Res. Conf. 10.16 (Rev.) 1(c) to (d), from memory.
 */
export type Generation = { readonly lowest: number; readonly highest: number | null };

/** What the records hold of a parent. */
export type ParentRecord = {
  readonly animalId: string;
  readonly claim: (Entry & { readonly origin: OriginClaim }) | null;
  readonly acquisition: Acquisition | null;
  readonly birth: Dated | null;
  /** Matings as dam; empty for a sire. */
  readonly matings: readonly Mating[];
  readonly stays: readonly Stay[];
  /** Permits and certificates that cover it. */
  readonly papers: readonly Entry[];
  readonly generation: Generation;
};

/** Everything that is weighed for one animal. Nothing recorded is null or empty. */
export type OriginRecord = {
  readonly claim: (Entry & { readonly origin: OriginClaim; readonly onWord: boolean }) | null;
  readonly acquisition: Acquisition | null;
  readonly birth: Dated | null;
  readonly hatching: Hatching | null;
  readonly laying: Laying | null;
  readonly damStatement: ParentStatement | null;
  readonly sireStatement: ParentStatement | null;
  /** The dam of the laying, else of the parentage, where it is one animal. */
  readonly dam: ParentRecord | null;
  readonly sire: ParentRecord | null;
  readonly held: readonly HeldPeriod[];
  /** Transponders, rings, tags and the like. */
  readonly marks: readonly Entry[];
  readonly papers: readonly Entry[];
  /** Keepers who have or had the animal or a share of it, and those who share an account with one of them. */
  readonly parties: readonly string[];
};

/** One bound of the biology of a taxon, with who says so. */
export type Bound = { readonly value: number; readonly source: string };
export type RangeBound = {
  readonly min?: number | undefined;
  readonly max?: number | undefined;
  readonly source: string;
};

/** Bounds of a taxon in days and numbers; a missing one leaves the rule that needs it silent. */
export type TaxonBounds = {
  readonly maturityDays?: RangeBound | undefined;
  readonly matingToLayingMinDays?: Bound | undefined;
  readonly spermStorageMaxDays?: Bound | undefined;
  readonly incubationDays?: RangeBound | undefined;
  readonly clutchSizeMax?: Bound | undefined;
};

export type Part = 'captive_birth' | 'generation' | 'lawful_stock' | 'identity';
export type Weight = 'supports' | 'silent' | 'doubts' | 'contradicts';

/** What one rule has to say. `source` names who says so where it is not the records themselves. */
export type Item = {
  readonly part: Part;
  readonly weighs: Weight;
  readonly words: string;
  readonly factIds: readonly string[];
  readonly source: string | null;
  /** It may be a slip of the pen: the keeper is asked before anybody relies on it. */
  readonly askFirst: boolean;
};

/** An item, and what would help, in words. */
export type Weighed = Item & { readonly missing?: readonly string[] };

/** One rule: looks at the records, the bounds of the taxon, and what was found out about the mating. */
export type Rule = (record: OriginRecord, bounds: TaxonBounds, mating: MatingFinding) => readonly Weighed[];

/** What the mating behind an animal was, as far as the records show. */
export type MatingFinding = {
  readonly kind:
    | 'before_capture'
    | 'too_early'
    | 'perhaps_too_early'
    | 'outside'
    | 'confirmed'
    | 'captive'
    | 'captive_window_open'
    | 'place_unknown'
    | 'not_recorded';
  /** Shown to have taken place in a controlled environment. */
  readonly controlled: Answer;
  readonly used: readonly Dated[];
  /** A mating nobody wrote down would resolve it. */
  readonly slipPossible: boolean;
};
