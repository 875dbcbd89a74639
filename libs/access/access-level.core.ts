/**
 * How much of an animal's record a viewer reads, from most to least:
 * `full`    the keeper who has the animal, or owns a share of it: everything;
 * `offered` the receiver of an open offer: the record as it will arrive;
 * `guest`   let in until a day by a keeper who has or owns it, a veterinarian for instance: the record and its quarantine as they are;
 * `past`    a keeper who had or owned it: what was recorded until they gave it away;
 * `club`    a club-mate of a holder or owner who shares lineage: lineage only;
 * `none`    anybody else: the animal does not exist.
 */
export type AccessLevel = 'full' | 'offered' | 'guest' | 'past' | 'club' | 'none';

/** One relation of a keeper to an animal. A closed one has ended, a guest's by its day; until when it reads on is `readsUntil`. */
export type AccessFact = {
  readonly relation: 'holder' | 'owner' | 'receiver' | 'guest';
  readonly closed: boolean;
  readonly readsUntil: Date | null;
};

/** What decides the level of one viewer for one animal. */
export type AccessFacts = {
  /** Relations of the keepers the viewer acts for, in any role. */
  readonly own: readonly AccessFact[];
  /** A holder or owner of today shares the animal's lineage and is in one of the viewer's clubs today. */
  readonly sharedInClub: boolean;
};

/** A level, and for `past` the moment after which nothing recorded is shown. */
export type Access = { readonly level: AccessLevel; readonly readsUntil: Date | null };

/** The highest level the facts give. Deny by default: no fact, no access. */
export function accessLevel(facts: AccessFacts): Access {
  const has = (relation: AccessFact['relation']): boolean =>
    facts.own.some((fact) => fact.relation === relation && !fact.closed);
  if (has('holder') || has('owner')) return { level: 'full', readsUntil: null };
  // A past holder who is offered the animal again reads it as it is now.
  if (has('receiver')) return { level: 'offered', readsUntil: null };
  if (has('guest')) return { level: 'guest', readsUntil: null };
  const ended = facts.own.flatMap((fact) =>
    (fact.relation === 'holder' || fact.relation === 'owner') && fact.closed && fact.readsUntil !== null
      ? [fact.readsUntil]
      : [],
  );
  if (ended.length > 0)
    return { level: 'past', readsUntil: new Date(Math.max(...ended.map((moment) => moment.getTime()))) };
  return { level: facts.sharedInClub ? 'club' : 'none', readsUntil: null };
}

/** Groups of fields of a record that are shown or withheld together. */
export type FieldsShown = {
  /** Register number, kind, taxon, line, sex, birth year, origin class, parents. */
  readonly lineage: boolean;
  /** Name, exact birth, fate, count, last seen, marks, weights and the notes that go with the animal. */
  readonly record: boolean;
  /** The quarantine it is in. */
  readonly health: boolean;
  /** Whose it is, the holding documents that cover it, breeders' plans, claims that were superseded: what those who have it work with. */
  readonly papers: boolean;
  /** Who has it now, without asking what that keeper shows of their holdings. */
  readonly holder: boolean;
  /** Who has it now, where that keeper shows it to the viewer: as a club-mate, or as the other party of a transfer or thread. */
  readonly holderIfShown: boolean;
};

const NOTHING: FieldsShown = {
  lineage: false,
  record: false,
  health: false,
  papers: false,
  holder: false,
  holderIfShown: false,
};
const RECORD: FieldsShown = { ...NOTHING, lineage: true, record: true };

const SHOWN: Readonly<Record<AccessLevel, FieldsShown>> = {
  full: { lineage: true, record: true, health: true, papers: true, holder: true, holderIfShown: true },
  offered: { ...RECORD, holderIfShown: true },
  guest: { ...RECORD, health: true, holderIfShown: true },
  past: RECORD,
  club: { ...NOTHING, lineage: true, holderIfShown: true },
  none: NOTHING,
};

/** Which fields a level shows. Private notes are apart: only the keeper who wrote one reads it, at any level. */
export function fieldsShown(level: AccessLevel): FieldsShown {
  return SHOWN[level];
}

/** Who learns that a keeper has an animal, from fewest to most; each audience is part of the next. */
export const AUDIENCES = ['nobody', 'other_party', 'coordinator', 'club'] as const;
export type Audience = (typeof AUDIENCES)[number];

/** What a viewer is to the holder of an animal. */
export type HolderTies = {
  /** Holder and viewer are in one club today. */
  readonly clubMates: boolean;
  /** The animal is in an open transfer to the viewer, or an open thread about it in which both were shown who the other is. */
  readonly otherParty: boolean;
};

/** Whether a holder who shows an animal to `audience` shows it to a viewer. A coordinator reads counts of a region, no single holder. */
export function showsHolder(audience: Audience, ties: HolderTies): boolean {
  if (audience === 'club' && ties.clubMates) return true;
  return audience !== 'nobody' && ties.otherParty;
}

/** What a keeper set at one level of sharing. */
export type SharingChoice = { readonly holdings: Audience | null; readonly lineageWithheld: boolean };

/** What holds for an animal: the audience of the nearest level that names one; lineage withheld at any level is withheld. */
export function resolveSharing(
  everything: { readonly holdings: Audience; readonly lineageWithheld: boolean },
  collection: SharingChoice | null,
  animal: SharingChoice | null,
): { readonly holdings: Audience; readonly lineageShared: boolean } {
  return {
    holdings: animal?.holdings ?? collection?.holdings ?? everything.holdings,
    lineageShared: ![everything, collection, animal].some((choice) => choice?.lineageWithheld === true),
  };
}
