import { v7 as uuid } from 'uuid';
import { type FactInput } from '../../animal/index.js';
import { type StockToRegister } from '../../custody/index.js';
import { type Day, decide, type Decision, isOnOrBefore, refuse, type UncertainDay } from '../../kernel/index.js';
import { decideParent, type KinFacts, type ParentRole } from '../../lineage/index.js';

/** One animal of a pedigree file, its words already read. Parents are places in the same list. */
export type PedigreeAnimal = {
  /** The id in the file; kept as the animal's mark `own_number`. */
  readonly ownNumber: string;
  readonly sire: number | null;
  readonly dam: number | null;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly birth: UncertainDay | null;
  /** Null while it lives; `when` null where only the death is known. */
  readonly death: { readonly when: UncertainDay | null } | null;
  /** What the file says and no fact can hold, in words; kept as notes that go with the animal. */
  readonly notes: readonly string[];
  /** False for a parent that is named in the file and has no line of its own. */
  readonly listed: boolean;
};

/** An entry that the registry's rules do not let stand beside the parents; it is kept as a note. */
export type SetAside = { readonly ownNumber: string; readonly entry: 'sex' | 'birth' };

/** What a file becomes: records to register, and the entries that were set aside. */
export type PedigreePlan = { readonly stock: readonly StockToRegister[]; readonly setAside: readonly SetAside[] };

type Known = { sex: PedigreeAnimal['sex']; birth: UncertainDay | null; notes: string[] };

const NO_DAYS = { earliest: null, latest: null };

/**
 * Turns the animals of a file into records. Families (animals with the same two parents; each founder is one) go to the
 * keepers in turn, in the order of the file. A parent without a line belongs to the pedigree only: nobody holds or owns it.
 * Where sex or births cannot be true together with a parent, the parent stays, because the numbers rest on it, and the
 * entry is set aside. Refuses DAY_IN_FUTURE for a birth or death still to come. `keeperIds` is not empty.
 */
export function planPedigree(
  animals: readonly PedigreeAnimal[],
  to: { readonly taxonId: string; readonly keeperIds: readonly string[]; readonly today: Day },
): Decision<PedigreePlan> {
  const future = animals.find(
    ({ birth, death }) => isToCome(birth, to.today) || isToCome(death?.when ?? null, to.today),
  );
  if (future !== undefined) {
    return refuse('DAY_IN_FUTURE', `"${future.ownNumber}": its birth or death is still to come. Correct the file.`);
  }
  const ids = animals.map(() => uuid());
  const { known, setAside } = reconcile(animals, ids, to.taxonId);
  const keepers = spreadOverKeepers(animals, to.keeperIds);
  const stock = animals.map((animal, i): StockToRegister => {
    const { sex, birth, notes } = known[i] ?? { sex: 'unknown', birth: null, notes: [] };
    const keeperId = keepers[i] ?? '';
    const days = heldDays(birth, animal.death, to.today);
    return {
      id: ids[i] ?? '',
      animal: {
        kind: 'individual',
        taxonId: to.taxonId,
        lineId: null,
        count: animal.death === null ? 1 : 0,
        countEstimated: false,
        // In a file both parents blank means a founder.
        declaredFounder: animal.sire === null && animal.dam === null,
        keeperId,
        on: days.from,
        facts: factsOf(animal, sex, birth, notes),
        marks: [{ kind: 'own_number', value: animal.ownNumber, when: null }],
      },
      parents: parentsOf(animal).map(([role, parent]) => ({
        role,
        basis: 'declared',
        candidates: [{ parentId: ids[parent] ?? '', probability: 1 }],
      })),
      holder: animal.listed ? { kind: 'keeper', keeperId } : { kind: 'unknown' },
      from: days.from,
      arrivedBy: days.born ? 'born' : 'registered',
      ended: days.to === null ? null : { on: days.to, leftBy: 'died' },
      owners: animal.listed ? [{ owner: { kind: 'keeper', keeperId }, parts: 1 }] : [],
    };
  });
  return decide({ stock, setAside });
}

function isToCome(when: UncertainDay | null, today: Day): boolean {
  return when !== null && when.earliest !== null && when.earliest > today;
}

function parentsOf({ sire, dam }: PedigreeAnimal): [ParentRole, number][] {
  return [
    ...(sire === null ? [] : [['sire', sire] as [ParentRole, number]]),
    ...(dam === null ? [] : [['dam', dam] as [ParentRole, number]]),
  ];
}

/** Sets aside what `decideParent` would refuse: sexes first, then births, so that every parent of the file passes it. */
function reconcile(animals: readonly PedigreeAnimal[], ids: readonly string[], taxonId: string) {
  const known: Known[] = animals.map(({ sex, birth, notes }) => ({ sex, birth, notes: [...notes] }));
  const setAside: SetAside[] = [];
  const kin = (i: number): KinFacts => ({
    id: ids[i] ?? '',
    kind: 'individual',
    taxonId,
    sex: known[i]?.sex ?? 'unknown',
    birth: known[i]?.birth ?? NO_DAYS,
  });
  const drop = (i: number, entry: SetAside['entry']): void => {
    const facts = known[i];
    const written = entry === 'sex' ? animals[i]?.sex : facts?.birth?.edtf;
    if (facts === undefined || written === undefined) return;
    facts.notes.push(`The file gives its ${entry} as "${written}", which does not fit its relatives.`);
    if (entry === 'sex') facts.sex = 'unknown';
    else facts.birth = null;
    setAside.push({ ownNumber: animals[i]?.ownNumber ?? '', entry });
  };
  animals.forEach((animal, child) => {
    for (const [role, parent] of parentsOf(animal)) {
      if (refusedBy(kin(child), kin(parent), role) === 'LINEAGE_SEX_CONFLICT') drop(parent, 'sex');
      if (refusedBy(kin(child), kin(parent), role) !== 'LINEAGE_PARENT_NOT_YET_BORN') continue;
      drop(parent, 'birth');
      drop(child, 'birth');
    }
  });
  return { known, setAside };
}

function refusedBy(child: KinFacts, parent: KinFacts, role: ParentRole): string | null {
  const decision = decideParent(child, parent, role);
  return decision.ok ? null : decision.refusal.rule;
}

/** A keeper for each animal: families in turn, in the order in which their first animal stands in the file. */
function spreadOverKeepers(animals: readonly PedigreeAnimal[], keeperIds: readonly string[]): string[] {
  const places = new Map<string, number>();
  return animals.map(({ sire, dam }, i) => {
    const family = sire === null && dam === null ? `founder ${i}` : `${sire} ${dam}`;
    const place = places.get(family) ?? places.size;
    places.set(family, place);
    return keeperIds[place % keeperIds.length] ?? '';
  });
}

/**
 * The days the keeper has it: from the day by which it was surely born, else from today. A dead animal whose day of death
 * is not known is in the book for today only: nobody can say on which of the days before it was there.
 */
function heldDays(birth: UncertainDay | null, death: PedigreeAnimal['death'], today: Day) {
  const bornBy = birth?.latest ?? null;
  const surelyBorn = bornBy !== null && bornBy <= today ? bornBy : null;
  if (death === null) return { from: surelyBorn ?? today, to: null, born: surelyBorn !== null };
  const diedBy = death.when?.latest ?? null;
  if (diedBy === null || diedBy > today) return { from: today, to: today, born: false };
  const fits = surelyBorn !== null && surelyBorn <= diedBy;
  return { from: fits ? surelyBorn : diedBy, to: diedBy, born: fits };
}

function factsOf(
  { death }: PedigreeAnimal,
  sex: Known['sex'],
  birth: UncertainDay | null,
  notes: readonly string[],
): FactInput[] {
  const diedOn = death?.when ?? null;
  const beforeBirth = birth !== null && diedOn !== null && isOnOrBefore(birth, diedOn) === 'no';
  const told = beforeBirth ? [...notes, `The file gives its death as "${diedOn.edtf}", before its birth.`] : notes;
  return [
    ...(birth === null
      ? []
      : [{ fact: { kind: 'birth' as const, body: { manner: 'unknown' as const } }, when: birth }]),
    ...(sex === 'unknown' ? [] : [{ fact: { kind: 'sex' as const, body: { sex } }, when: null }]),
    ...(death === null
      ? []
      : [{ fact: { kind: 'fate' as const, body: { fate: 'dead' as const } }, when: beforeBirth ? null : diedOn }]),
    ...told.map((text) => ({ fact: { kind: 'note' as const, body: { topic: 'care' as const, text } }, when: null })),
  ];
}
