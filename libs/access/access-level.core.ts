/**
 * How much of an animal's record a viewer reads, from most to least:
 * `full`    the keeper who has the animal, or owns a share of it: everything;
 * `offered` the receiver of an open offer: the record as it will arrive;
 * `past`    a keeper who had or owned it: what was recorded until they gave it away;
 * `club`    a club-mate of a holder or owner who shares lineage: lineage only;
 * `none`    anybody else: the animal does not exist.
 */
export type AccessLevel = 'full' | 'offered' | 'past' | 'club' | 'none';

/** One relation of a keeper to an animal. A closed one has ended; until when it reads on is `readsUntil`. */
export type AccessFact = {
  readonly relation: 'holder' | 'owner' | 'receiver';
  readonly closed: boolean;
  readonly readsUntil: Date | null;
};

/** What decides the level of one viewer for one animal. */
export type AccessFacts = {
  /** Relations of the keepers the viewer acts for, in any role. */
  readonly own: readonly AccessFact[];
  /** A holder or owner of today shares lineage and is in one of the viewer's clubs today. */
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
  const ended = facts.own.flatMap((fact) =>
    fact.relation !== 'receiver' && fact.closed && fact.readsUntil !== null ? [fact.readsUntil] : [],
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
  /** Who has it now, without asking what that keeper shows of their holdings. */
  readonly holder: boolean;
  /** Who has it now, where that keeper shows their holdings to the club. */
  readonly holderIfShown: boolean;
};

const SHOWN: Readonly<Record<AccessLevel, FieldsShown>> = {
  full: { lineage: true, record: true, holder: true, holderIfShown: true },
  past: { lineage: true, record: true, holder: false, holderIfShown: false },
  offered: { lineage: true, record: true, holder: false, holderIfShown: false },
  club: { lineage: true, record: false, holder: false, holderIfShown: true },
  none: { lineage: false, record: false, holder: false, holderIfShown: false },
};

/** Which fields a level shows. Private notes are apart: only the keeper who wrote one reads it, at any level. */
export function fieldsShown(level: AccessLevel): FieldsShown {
  return SHOWN[level];
}
