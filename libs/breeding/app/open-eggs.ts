import { type When } from '../../animal/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import { decideEggEvents, decideYoungOfEgg, type EggEvent } from '../core/egg.core.js';
import { twinWarning } from '../core/plausibility.core.js';
import { youngByEgg } from '../store/breeding-write.store.js';
import { type ClutchFacts } from '../store/clutch.store.js';
import { eggEventsOf, ensureEggs, insertEggEvents } from '../store/egg.store.js';

const NOWHERE = { enclosureId: null, incubator: null, celsius: null, candling: null };
const ANY = { earliest: null, latest: null };

/** Can a clutch have eggs with these numbers? */
export function decideNumbers(
  clutch: Pick<ClutchFacts, 'kind' | 'eggCount'>,
  numbers: readonly number[],
): Decision<null> {
  if (numbers.length > 0 && clutch.kind === 'born')
    return refuse('CLUTCH_WITHOUT_EGGS', 'The young of this clutch were born alive: there are no eggs to name.');
  const highest = Math.max(0, ...numbers);
  if (clutch.eggCount === null || highest <= clutch.eggCount) return decide(null);
  return refuse(
    'EGG_NUMBER_TOO_HIGH',
    `The clutch has ${clutch.eggCount} egg(s); there is no number ${highest}. Correct the number of eggs first if there are more.`,
  );
}

/**
 * Lets young come out of eggs of a locked clutch: one number for each of them, so that twins name theirs twice. An egg that
 * nobody has called hatched becomes so. Gives the ids of the eggs by number. EGG_THREE_YOUNG, EGG_NUMBER_TOO_HIGH,
 * CLUTCH_WITHOUT_EGGS, EGG_EVENT_OUT_OF_ORDER.
 */
export async function openEggs(
  tx: Tx,
  clutch: ClutchFacts,
  numbers: readonly number[],
  when: When | null,
  keeperId: string,
): Promise<Decision<{ ids: ReadonlyMap<number, string>; warnings: BreedingWarning[] }>> {
  const possible = decideNumbers(clutch, numbers);
  if (!possible.ok) return possible;
  if (numbers.length === 0) return decide({ ids: new Map(), warnings: [] });
  const ids = await ensureEggs(tx, clutch.originalId, numbers);
  const [events, young] = [await eggEventsOf(tx, clutch.originalId), await youngByEgg(tx, clutch.originalId)];
  const warnings: BreedingWarning[] = [];
  for (const [number, eggId] of ids) {
    const count = (young.get(eggId) ?? 0) + numbers.filter((each) => each === number).length;
    const twins = decideYoungOfEgg(number, count);
    if (!twins.ok) return twins;
    if (twins.value.twins) warnings.push(twinWarning(number));
    const own = events.filter((event) => event.eggId === eggId || event.eggId === null);
    if (own.some((event) => event.kind === 'hatched')) continue;
    const hatched: EggEvent = {
      id: eggId,
      kind: 'hatched',
      wholeClutch: false,
      when: when ?? ANY,
      recorded: tx.now.getTime(),
    };
    const life = decideEggEvents({ number, events: [...own, hatched], laid: clutch.laid ?? ANY }, tx.today);
    if (!life.ok) return life;
    const forWhom = keeperId === clutch.keeperId ? null : keeperId;
    await insertEggEvents(tx, [
      { clutchId: clutch.originalId, eggId, keeperId: forWhom, kind: 'hatched', when, ...NOWHERE },
    ]);
  }
  return decide({ ids, warnings });
}
