import { decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { decideUnnumbered, eggsSpent, isApart } from '../core/egg-holder.core.js';
import { readYoungOfEggs } from '../store/breeding-write.store.js';
import { readEggStates } from '../store/egg-custody.store.js';
import { type ClutchInHand } from './meant-eggs.js';

/** See `decideUnnumbered`, with what came out of the keeper's eggs of a locked clutch before. */
export async function unnumberedYoung(
  tx: Tx,
  { clutch, eggs }: ClutchInHand,
  keeperId: string,
  young: Parameters<typeof decideUnnumbered>[3],
): Promise<Decision<null>> {
  if (!isApart(clutch, eggs) || young.every(({ eggNumber }) => eggNumber !== null)) return decide(null);
  const { ofEggs, without } = await readYoungOfEggs(tx, clutch, keeperId);
  const states = (await readEggStates(tx.db, [clutch.originalId])).get(clutch.originalId);
  const alone = eggs.filter(
    (egg) => egg.keeperId === keeperId && states?.get(egg.number) === 'hatched' && !ofEggs.has(egg.id),
  );
  return decideUnnumbered(clutch, eggs, keeperId, young, eggsSpent(without, alone.length));
}
