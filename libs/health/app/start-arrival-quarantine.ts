import { type Day } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { longestRule } from '../core/quarantine-rules.core.js';
import { checkAfterEntry } from '../jobs/check-quarantine-end.job.js';
import { insertQuarantine, readQuarantineRules } from '../store/quarantine-write.store.js';

/**
 * Keeps what arrived alive by a transfer apart, as one group for as long as the longest rule among the species says: called
 * once a receipt, in the transaction that gives the receiver the animals, with the animals locked and in no group any more
 * (`leaveQuarantine`). Gives the group's id, which the caller's own ledger entry names; null when nothing is alive.
 */
export async function startArrivalQuarantine(
  tx: Tx,
  arrival: {
    readonly keeperId: string;
    /** Null for what arrives later than the first of a transfer: one group of a transfer carries its id. */
    readonly transferId: string | null;
    readonly animalIds: readonly string[];
    readonly on: Day;
  },
): Promise<string | null> {
  const rules = [...(await readQuarantineRules(tx, arrival.animalIds))].filter(([, { alive }]) => alive);
  const rule = longestRule(rules.map(([, each]) => each));
  if (rule === null) return null;
  const groupId = await insertQuarantine(tx, {
    keeperId: arrival.keeperId,
    name: `Arrival of ${arrival.on}`,
    days: rule.days,
    daysSource: rule.source,
    restartScope: 'order',
    transferId: arrival.transferId,
    animalIds: rules.map(([id]) => id),
    enteredOn: arrival.on,
  });
  await checkAfterEntry(tx, groupId);
  return groupId;
}
