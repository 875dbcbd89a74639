import { type DaySpan, decide, type Decision, isBefore, isOnOrBefore, refuse, shift } from '../../kernel/index.js';
import { decideParent, type KinFacts, type ParentageBasis, type ParentRole } from './parentage.core.js';

/** A possible parent and how probable it is, above 0, at most 1. */
export type Candidate = { readonly parentId: string; readonly probability: number };

/** What is said of one parent: one certain candidate, several, or (sire only) that there was none. */
export type ParentStatement = {
  readonly role: ParentRole;
  readonly basis: ParentageBasis;
  readonly candidates: readonly Candidate[];
  readonly withoutSire: boolean;
};

/** A possible parent, and the days on which it can have died; null while it is not recorded as dead. */
export type ParentFacts = KinFacts & { readonly death: DaySpan | null };

/** Worth knowing; nothing is refused. `source` = who gives the numbers it rests on, null where it rests on records alone. */
export type ClaimWarning = {
  readonly code: Uppercase<string>;
  readonly message: string;
  readonly source: string | null;
  /** The parent it is about. */
  readonly parentId: string | null;
};

/** What a taxon's profile says that bears on parents; every part may be missing, and then decides nothing. Days. */
export type ParentBiology = {
  readonly maturityDays?: { readonly min?: number | undefined; readonly source: string } | undefined;
  readonly spermStorageMaxDays?: { readonly value: number; readonly source: string } | undefined;
  readonly incubationDays?: { readonly max?: number | undefined; readonly source: string } | undefined;
  readonly parthenogenesis?: { readonly value: 'facultative' | 'obligate'; readonly source: string } | undefined;
};

/**
 * Can this be said of a parent of `child`? Only what is certain refuses: LINEAGE_* of `decideParent`, and
 * LINEAGE_SIRE_DEAD_TOO_LONG where the profile gives both sperm storage and incubation. What the dates leave open, and what
 * biology makes unlikely, gives warnings. `pathOf` names the input field of a candidate, so that a refusal can point at it.
 * `parents` holds the facts of every candidate, in the same order.
 */
export function decideClaim(
  child: KinFacts,
  statement: ParentStatement,
  parents: readonly ParentFacts[],
  biology: ParentBiology,
  pathOf: (candidate: number) => string,
): Decision<readonly ClaimWarning[]> {
  const { role, basis } = statement;
  if (statement.withoutSire) return decideWithoutSire(role, biology);
  const warnings: ClaimWarning[] = [];
  for (const [i, parent] of parents.entries()) {
    const possible = decideParent(child, parent, role);
    const alive = possible.ok && role === 'sire' ? decideSireInTime(child, parent, basis, biology) : possible;
    if (!alive.ok) {
      const { rule, message, blockers } = alive.refusal;
      const remedy = blockers?.[0]?.remedy ?? 'Choose another animal.';
      return refuse(rule, message, { blockers: blockers ?? [], fields: [{ path: pathOf(i), message, remedy }] });
    }
    warnings.push(...(alive.value ?? []), ...ageWarnings(child, parent, biology));
    if (role === 'dam') warnings.push(...damDeathWarnings(child, parent, biology));
  }
  const { parthenogenesis } = biology;
  if (role === 'sire' && parents.length > 0 && parthenogenesis?.value === 'obligate') {
    const message = 'By its profile this taxon always develops without a sire.';
    warnings.push({ code: 'SIRE_IN_TAXON_WITHOUT_SIRES', message, source: parthenogenesis.source, parentId: null });
  }
  return decide(warnings);
}

/** One animal cannot be surely both: refuses LINEAGE_SIRE_IS_DAM. Group housing may name it as a candidate for either place. */
export function decideTwoParents(sire: readonly Candidate[], dam: readonly Candidate[]): Decision<null> {
  const [one, other] = [sire[0], dam[0]];
  if (sire.length !== 1 || dam.length !== 1 || one?.parentId !== other?.parentId) return decide(null);
  return refuse('LINEAGE_SIRE_IS_DAM', 'The same animal would be the sire and the dam.', {
    blockers: [{ kind: 'animal', id: one?.parentId ?? '', remedy: 'Correct the other parent first.' }],
  });
}

function decideWithoutSire(role: ParentRole, { parthenogenesis }: ParentBiology): Decision<readonly ClaimWarning[]> {
  if (role === 'dam') return refuse('LINEAGE_DAM_NEEDED', 'Only a sire can be missing by nature.');
  if (parthenogenesis === undefined) {
    return refuse(
      'LINEAGE_NO_PARTHENOGENESIS',
      'Development without a sire is not recorded in the profile of this taxon, with a source. Leave the sire unknown instead.',
    );
  }
  const message = `Recorded as developed without a sire, which the profile calls ${parthenogenesis.value} in this taxon.`;
  return decide([{ code: 'WITHOUT_SIRE', message, source: parthenogenesis.source, parentId: null }]);
}

/** Was the birth within the days that stored sperm and incubation leave after the sire's death? */
function decideSireInTime(
  child: KinFacts,
  sire: ParentFacts,
  basis: ParentageBasis,
  { spermStorageMaxDays: storage, incubationDays: incubation }: ParentBiology,
): Decision<readonly ClaimWarning[]> {
  if (sire.death === null || isOnOrBefore(child.birth, sire.death) === 'yes') return decide([]);
  const warn = (code: Uppercase<string>, message: string, source: string | null): Decision<readonly ClaimWarning[]> =>
    decide([{ code, message, source, parentId: sire.id }]);
  if (storage === undefined || incubation?.max === undefined) {
    const surely = isBefore(sire.death, child.birth) === 'yes' ? 'was' : 'may have been';
    const message = `The sire ${surely} dead when its offspring was born. Stored sperm can explain it; the profile of the taxon sets no limit.`;
    return warn('SIRE_DEAD_BEFORE_BIRTH', message, null);
  }
  const window = storage.value + incubation.max;
  const source = `${storage.source}; ${incubation.source}`;
  const numbers = `${storage.value} days of sperm storage and ${incubation.max} of incubation`;
  const inTime = isOnOrBefore(child.birth, later(sire.death, window));
  if (inTime === 'yes') return decide([]);
  if (inTime === 'possible')
    return warn('SIRE_MAY_BE_DEAD_TOO_LONG', `The sire may have been dead for longer than ${numbers}.`, source);
  if (basis === 'genetic_test') {
    const message = `The sire was dead for longer than ${numbers}; the genetic test outweighs these numbers.`;
    return warn('SIRE_DEAD_TOO_LONG', message, source);
  }
  const remedy = 'Choose another animal, or correct its death or the birth; a genetic test outweighs the numbers.';
  return refuse('LINEAGE_SIRE_DEAD_TOO_LONG', `This sire was dead for longer than ${numbers} together (${source}).`, {
    blockers: [{ kind: 'animal', id: sire.id, remedy }],
  });
}

function ageWarnings(child: KinFacts, parent: ParentFacts, { maturityDays: maturity }: ParentBiology): ClaimWarning[] {
  const found: ClaimWarning[] = [];
  if (isBefore(parent.birth, child.birth) === 'possible') {
    const message = 'The recorded births leave open whether this parent was born before its offspring.';
    found.push({ code: 'PARENT_AGE_OPEN', message, source: null, parentId: parent.id });
  }
  if (maturity?.min === undefined) return found;
  const grownUp = isOnOrBefore(later(parent.birth, maturity.min), child.birth);
  // Where a birth is not known at all, the warning above says what there is to say.
  const bounded = parent.birth.latest !== null && child.birth.earliest !== null;
  if (grownUp === 'yes' || (grownUp === 'possible' && !bounded)) return found;
  const was = grownUp === 'no' ? 'was' : 'may have been';
  const message = `This parent ${was} younger than ${maturity.min} days, the age of first breeding in the taxon's profile.`;
  return [...found, { code: 'PARENT_YOUNG', message, source: maturity.source, parentId: parent.id }];
}

function damDeathWarnings(child: KinFacts, dam: ParentFacts, { incubationDays }: ParentBiology): ClaimWarning[] {
  if (dam.death === null) return [];
  const most = incubationDays?.max;
  const inTime = isOnOrBefore(child.birth, later(dam.death, most ?? 0));
  if (inTime === 'yes') return [];
  const was = inTime === 'no' ? 'was' : 'may have been';
  const found =
    most === undefined
      ? `The dam ${was} dead when its offspring was born. Eggs laid before, or taken after death, can explain it.`
      : `The dam ${was} dead for longer than ${most} days of incubation. Eggs taken after death can explain it.`;
  const code = most === undefined ? 'DAM_DEAD_BEFORE_BIRTH' : 'DAM_DEAD_BEFORE_LAYING';
  return [
    { code, message: found, source: most === undefined ? null : (incubationDays?.source ?? null), parentId: dam.id },
  ];
}

/** The same days, so many later; a profile may give half a day. */
function later(span: DaySpan, days: number): DaySpan {
  return shift(span, Math.round(days));
}
