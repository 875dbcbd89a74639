import { lockAnimals } from '../../animal/index.js';
import { currentCustody } from '../../custody/index.js';
import { type Day, decide, type Decision, notFound } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { enterQuarantine, type Newcomer, type TaxonRule } from '../core/quarantine-rules.core.js';
import { endOf } from '../core/quarantine.core.js';
import { findGroupsOf, findOpenGroups, readQuarantines } from '../store/quarantine-read.store.js';
import { closeStays, lockQuarantines, readQuarantineRules } from '../store/quarantine-write.store.js';

/** Animals that shall enter a group of the keeper, or a new one. */
export type Admission = {
  readonly keeperId: string;
  readonly groupId: string | null;
  readonly animalIds: readonly string[];
  readonly enteredOn: Day;
};

/**
 * Locks animals and groups, decides whether the animals may enter, and closes stays of theirs that were over before. Gives
 * the rules of their taxa. Throws NOT_FOUND for an animal the keeper has not; refuses as `enterQuarantine` does.
 */
export async function admitAnimals(tx: Tx, admission: Admission): Promise<Decision<TaxonRule[]>> {
  const { keeperId, groupId, animalIds, enteredOn } = admission;
  await lockAnimals(tx, animalIds);
  const custody = await currentCustody(tx, animalIds);
  // Before quarantines are asked about: how much is asked does not tell whether an animal of others is in one.
  const held = animalIds.map((animalId) => {
    const now = custody.get(animalId);
    if (now?.holder.kind !== 'keeper' || now.holder.keeperId !== keeperId) throw notFound('animal');
    return { animalId, since: now.from };
  });
  const open = new Set((await findOpenGroups(tx.db, animalIds)).values());
  await lockQuarantines(tx, groupId === null ? [...open] : [...open, groupId]);
  const groups = await readQuarantines(tx.db, [
    ...(await findGroupsOf(tx.db, animalIds)),
    ...(groupId === null ? [] : [groupId]),
  ]);
  const rules = await readQuarantineRules(tx, animalIds);
  const newcomers = held.map(({ animalId, since }): Newcomer & { rule: TaxonRule } => {
    const rule = rules.get(animalId);
    if (rule === undefined) throw notFound('animal');
    const stays = groups.flatMap((group) =>
      group.entries
        .filter((entry) => entry.animalId === animalId)
        .map((entry) => ({ ...entry, entryId: entry.id, endsOn: endOf(group, entry, tx.today) })),
    );
    return { animalId, alive: rule.alive, heldSince: since, stays, rule };
  });
  const group = groups.find(({ id }) => id === groupId) ?? null;
  const decision = enterQuarantine(group, newcomers, enteredOn, tx.today);
  if (!decision.ok) return decision;
  await closeStays(tx, decision.value);
  return decide(newcomers.map(({ rule }) => rule));
}
