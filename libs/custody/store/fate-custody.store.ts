import { v7 as uuid } from 'uuid';
import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { custodyAfter, type GoneFate } from '../core/whereabouts.core.js';
import { correctDeathDay, supersede } from './custody-write.store.js';

/**
 * Moves the day on which a locked animal left its holder by the fate in force, or takes the leaving back (`on` null): the holder
 * has had it all along. Does nothing where the fate moved no custody: another keeper has it, or nobody did before. Gives whether
 * anything moved. Refuses CUSTODY_DAY_TOO_EARLY, DAY_IN_FUTURE, of a death also CUSTODY_NOT_OPEN.
 */
export async function correctFateDay(
  tx: Tx,
  { animalId, fate }: { animalId: string; fate: GoneFate | 'dead' },
  on: Day | null,
): Promise<Decision<boolean>> {
  if (fate === 'dead') {
    const moved = await correctDeathDay(tx, animalId, on);
    return moved.ok ? decide(true) : moved;
  }
  const since = await tx.db.custody.findFirst({
    where: { animalId, supersededAt: null, validTo: null, holderKind: custodyAfter(fate).to.kind },
  });
  const before =
    since === null
      ? null
      : await tx.db.custody.findFirst({
          where: { animalId, supersededAt: null, validTo: since.validFrom, leftBy: fate },
          orderBy: [{ validFrom: 'desc' }, { id: 'desc' }],
        });
  if (since === null || before === null) return decide(false);
  if (on === null) {
    // The period elsewhere steps back first: the constraint on overlaps looks at rows in force at once, not at commit.
    const id = uuid();
    await tx.db.custody.update({ where: { id: since.id }, data: { supersededAt: tx.now, supersededBy: id } });
    await supersede(tx, before, { validTo: null, leftBy: null, departureRef: null }, id);
    return decide(true);
  }
  if (on > tx.today) return refuse('DAY_IN_FUTURE', `${on} is still to come.`);
  const from = fromDateColumn(before.validFrom);
  if (on < from) return refuse('CUSTODY_DAY_TOO_EARLY', `The holder had this animal only since ${from}.`);
  const end = () => supersede(tx, before, { validTo: toDateColumn(on) });
  const begin = () => supersede(tx, since, { validFrom: toDateColumn(on) });
  // The one that becomes shorter goes first, for the same reason.
  for (const move of on < fromDateColumn(since.validFrom) ? [end, begin] : [begin, end]) await move();
  return decide(true);
}
