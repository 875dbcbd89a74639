import { type Day, decide, type Decision, exactDay, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type EggInHand, numbersOf } from '../core/egg-holder.core.js';
import { type EggEventKind } from '../core/egg.core.js';
import { type ClutchFacts, lockClutch } from '../store/clutch.store.js';
import { moveEggs, readEggsInHand, takeOffWay } from '../store/egg-custody.store.js';
import { ensureEggs } from '../store/egg.store.js';
import { meantEggs, takeClutch } from './meant-eggs.js';
import { decideNumbers } from './open-eggs.js';
import { writeEggEvents } from './record-egg-events.js';

/** An egg by its number; `clutchId` is the first version of its clutch. */
export type EggNamed = { readonly eggId: string; readonly clutchId: string; readonly number: number };

/** Eggs of a clutch: these numbers, or so many of those that are left, or (both null) all that are left. */
export type EggsAsked = {
  readonly clutchId: string;
  readonly numbers: readonly number[] | null;
  readonly count: number | null;
};

/**
 * Names eggs that a keeper of the viewer has and can hand over, with their clutches locked. Where only a number is asked for,
 * the lowest free numbers are taken: `taken` are eggs that are promised already. NOT_FOUND, EGGS_*, EGG_ENDED, EGG_NUMBER_TOO_HIGH.
 */
export async function takeEggs(
  tx: Tx,
  viewer: Viewer,
  keeperId: string,
  asked: readonly EggsAsked[],
  taken: ReadonlySet<string>,
): Promise<Decision<EggNamed[]>> {
  const named: EggNamed[] = [];
  for (const each of asked.toSorted((a, b) => (a.clutchId < b.clutchId ? -1 : 1))) {
    const inHand = await takeClutch(tx, viewer, each.clutchId);
    const { clutch, eggs } = inHand;
    const meant = meantEggs(viewer, inHand, { numbers: each.numbers, ending: true });
    if (!meant.ok) return meant;
    if (meant.value.keeperId !== keeperId) throw notFound('clutch');
    const numbers = decideTaken(clutch, eggs, each, meant.value.numbers, taken);
    if (!numbers.ok) return numbers;
    const possible = decideNumbers(clutch, numbers.value);
    if (!possible.ok) return possible;
    const ids = await ensureEggs(tx, clutch.originalId, numbers.value);
    for (const [number, eggId] of [...ids].toSorted(([a], [b]) => a - b))
      named.push({ eggId, clutchId: clutch.originalId, number });
  }
  return decide(named);
}

function decideTaken(
  clutch: ClutchFacts,
  eggs: readonly EggInHand[],
  asked: EggsAsked,
  meant: readonly number[] | null,
  taken: ReadonlySet<string>,
): Decision<readonly number[]> {
  const blocked = (remedy: string) => ({ blockers: [{ kind: 'clutch', id: clutch.originalId, remedy }] });
  const over = new Set(eggs.filter((egg) => egg.over).map(({ number }) => number));
  if (asked.numbers !== null) {
    const ended = asked.numbers.filter((number) => over.has(number));
    if (ended.length === 0) return decide([...new Set(asked.numbers)]);
    const remedy = 'Leave it out; what hatched is handed over as an animal.';
    return refuse('EGG_ENDED', `Egg ${ended.join(', ')} has hatched or come to nothing. ${remedy}`, blocked(remedy));
  }
  const all = meant ?? numbersOf(clutch, eggs);
  if (all === null) {
    const remedy = 'Name the eggs by number, or record how many there are first.';
    return refuse('EGGS_UNCOUNTED', `How many eggs the clutch has is not recorded. ${remedy}`, blocked(remedy));
  }
  const promised = new Set(eggs.filter((egg) => taken.has(egg.id)).map(({ number }) => number));
  const free = all.filter((number) => !over.has(number) && !promised.has(number));
  const count = asked.count ?? free.length;
  if (count >= 1 && count <= free.length) return decide(free.slice(0, count));
  const remedy = free.length === 0 ? 'None of them can be handed over.' : `Ask for ${free.length} or fewer.`;
  return refuse(
    'EGGS_TOO_FEW',
    `${free.length} egg(s) of the clutch are left with you and not promised. ${remedy}`,
    blocked(remedy),
  );
}

/** Locks the clutches of eggs, in id order, and reads who has each egg now and since when, at the earliest since it was laid, by its id. */
export async function lockEggs(tx: Tx, eggs: readonly EggNamed[]): Promise<Map<string, EggInHand>> {
  if (eggs.length === 0) return new Map();
  const clutches = await lockClutches(tx, eggs);
  const inHand = await readEggsInHand(tx.db, [...clutches.values()]);
  return new Map(
    [...inHand].flatMap(([clutchId, known]) => {
      const laid = clutches.get(clutchId)?.laid?.earliest ?? null;
      return known.map((egg) => [egg.id, { ...egg, since: egg.since ?? laid }] as const);
    }),
  );
}

async function lockClutches(tx: Tx, eggs: readonly EggNamed[]): Promise<Map<string, ClutchFacts>> {
  const locked = new Map<string, ClutchFacts>();
  for (const clutchId of [...new Set(eggs.map((egg) => egg.clutchId))].toSorted()) {
    const clutch = await lockClutch(tx, clutchId);
    if (clutch !== null) locked.set(clutchId, clutch);
  }
  return locked;
}

/** What becomes of an egg that was on its way: it stays with the giver, or is the receiver's, there alive or dead. */
export type EggLanding = EggNamed & { readonly to: 'giver' | 'giver_missing' | 'receiver' | 'receiver_dead' };

/**
 * Lands eggs of a transfer on a day: who has them, and what is known of those that are dead or missing, recorded for whoever
 * has them then. `receiverId` null = somebody without an account, for whom the giver records.
 */
export async function landEggs(
  tx: Tx,
  transfer: { readonly id: string; readonly giverId: string; readonly receiverId: string | null; readonly on: Day },
  eggs: readonly EggLanding[],
): Promise<Decision<null>> {
  const clutches = await lockClutches(tx, eggs);
  const { id: transferId, giverId, receiverId, on } = transfer;
  await takeOffWay(
    tx,
    transferId,
    eggs.map(({ eggId }) => eggId),
  );
  const received = eggs.filter(({ to }) => to === 'receiver' || to === 'receiver_dead');
  await moveEggs(tx, { eggIds: received.map(({ eggId }) => eggId), keeperId: receiverId, transferId, on });
  const say = async (to: EggLanding['to'], kind: EggEventKind, keeperId: string): Promise<Decision<null>> => {
    for (const [clutchId, clutch] of clutches) {
      const numbers = eggs.filter((egg) => egg.to === to && egg.clutchId === clutchId).map(({ number }) => number);
      if (numbers.length === 0) continue;
      const details = { enclosureId: null, incubator: null, celsius: null, candling: null };
      const event = { eggs: numbers, kind, when: exactDay(on), ...details };
      const written = await writeEggEvents(tx, clutch, event, keeperId);
      if (!written.ok) return written;
    }
    return decide(null);
  };
  const dead = await say('receiver_dead', 'failed', receiverId ?? giverId);
  return dead.ok ? say('giver_missing', 'fate_unknown', giverId) : dead;
}
