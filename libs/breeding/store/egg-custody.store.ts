import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Db, type Prisma, type Tx } from '../../platform/prisma/index.js';
import { type EggState, eggState, isOver } from '../core/egg.core.js';
import { type EggInHand, type EggPeriod, numbersOf } from '../core/egg-holder.core.js';
import { readEggEvents, readEggs } from './egg.store.js';

/** The eggs of clutches that something is recorded of, with who has each. `clutches` name the first version and its keeper. */
export async function readEggsInHand(
  db: Db,
  clutches: readonly { readonly originalId: string; readonly keeperId: string }[],
): Promise<Map<string, EggInHand[]>> {
  const ids = clutches.map(({ originalId }) => originalId);
  const rows = await db.egg.findMany({
    where: { clutchId: { in: ids } },
    include: { custody: { where: { validTo: null } } },
    orderBy: { number: 'asc' },
  });
  const events = (await readEggEvents(db, ids)).filter((event) => event.supersededAt === null);
  return new Map(
    clutches.map(({ originalId, keeperId }) => [
      originalId,
      rows
        .filter((egg) => egg.clutchId === originalId)
        .map((egg): EggInHand => {
          const life = events.filter(
            (event) => event.clutchId === originalId && (event.wholeClutch || event.eggId === egg.id),
          );
          const [now] = egg.custody;
          return {
            id: egg.id,
            number: egg.number,
            keeperId: now === undefined ? keeperId : now.keeperId,
            since: fromDateColumnOrNull(now?.validFrom ?? null),
            onItsWay: egg.onItsWay,
            over: isOver(eggState(life)),
          };
        }),
    ]),
  );
}

/** Clutches of which these keepers have eggs that by the record may still live: the ids of their first versions, in order. */
export async function findClutchesInHand(db: Db, keeperIds: readonly string[]): Promise<string[]> {
  const mine = [...keeperIds];
  const received = { original: { eggs: { some: { custody: { some: { keeperId: { in: mine }, validTo: null } } } } } };
  const where = { OR: [{ keeperId: { in: mine } }, received] };
  return [...(await livingEggs(db, where, mine))].flatMap(([id, eggs]) => (eggs > 0 ? [id] : []));
}

/**
 * Of clutches named by their first versions, those of which these keepers have eggs that by the record may still hatch. Young
 * whose egg nobody named came out of some of them; of how many a lot came, its count does not tell any more, so then none is left.
 */
export async function clutchesThatMayHatch(
  db: Db,
  originalIds: readonly string[],
  keeperIds: readonly string[],
): Promise<Set<string>> {
  const where = { originalId: { in: [...originalIds] } };
  const living = await livingEggs(db, where, keeperIds);
  const unnumbered = await db.hatching.findMany({
    where: { clutch: where, eggId: null, supersededAt: null },
    select: { clutch: { select: { originalId: true } }, animal: { select: { kind: true } } },
  });
  for (const { clutch, animal } of unnumbered) {
    const left = animal.kind === 'lot' ? 0 : (living.get(clutch.originalId) ?? 0) - 1;
    living.set(clutch.originalId, left);
  }
  return new Set([...living].flatMap(([id, eggs]) => (eggs > 0 ? [id] : [])));
}

/** How many eggs that may still live these keepers have of each clutch, by its first version, in order. */
async function livingEggs(
  db: Db,
  where: Prisma.ClutchWhereInput,
  mine: readonly string[],
): Promise<Map<string, number>> {
  const clutches = await db.clutch.findMany({
    where: { supersededAt: null, kind: 'eggs', ...where },
    select: { originalId: true, keeperId: true, eggCount: true },
    orderBy: { originalId: 'asc' },
  });
  const ids = clutches.map(({ originalId }) => originalId);
  const hands = await readEggsInHand(db, clutches);
  const events = (await readEggEvents(db, ids)).filter((event) => event.supersededAt === null);
  return new Map(
    clutches.map(({ originalId, ...clutch }) => {
      const known = hands.get(originalId) ?? [];
      const life = events.filter((event) => event.clutchId === originalId);
      const mayLive = (eggId: string | null): boolean => {
        const own = life.filter((event) => event.wholeClutch || event.eggId === eggId);
        // Said last, with a day or without: nobody knows.
        return !isOver(eggState(own)) && own.at(-1)?.kind !== 'fate_unknown';
      };
      const numbers = numbersOf(clutch, known) ?? known.map(({ number }) => number);
      const left = numbers.filter((number) => {
        const egg = known.find((each) => each.number === number);
        const keeperId = egg === undefined ? clutch.keeperId : egg.keeperId;
        return keeperId !== null && mine.includes(keeperId) && mayLive(egg?.id ?? null);
      });
      return [originalId, left.length] as const;
    }),
  );
}

/** The state of each egg by number, of clutches named by their first versions; eggs nothing is recorded of are left out. */
export async function readEggStates(db: Db, ids: readonly string[]): Promise<Map<string, Map<number, EggState>>> {
  const events = (await readEggEvents(db, ids)).filter((event) => event.supersededAt === null);
  const states = new Map(ids.map((id) => [id, new Map<number, EggState>()]));
  for (const egg of await readEggs(db, ids)) {
    const life = events.filter(
      (event) => event.clutchId === egg.clutchId && (event.wholeClutch || event.eggId === egg.id),
    );
    states.get(egg.clutchId)?.set(egg.number, eggState(life));
  }
  return states;
}

/** Whether any of the keepers has, or once had, an egg of the clutch that was handed over. */
export async function everHadEggs(db: Db, originalId: string, keeperIds: readonly string[]): Promise<boolean> {
  const where = { keeperId: { in: [...keeperIds] }, egg: { clutchId: originalId } };
  return (await db.eggCustody.findFirst({ where, select: { id: true } })) !== null;
}

/** Who had each egg of the clutches that was ever handed over, oldest first, by egg. */
export async function readEggPeriods(db: Db, originalIds: readonly string[]): Promise<Map<string, EggPeriod[]>> {
  const rows = await db.eggCustody.findMany({
    where: { egg: { clutchId: { in: [...originalIds] } } },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  const periods = new Map<string, EggPeriod[]>();
  for (const { eggId, keeperId, recordedAt, endRecorded } of rows)
    periods.set(eggId, [...(periods.get(eggId) ?? []), { keeperId, recordedAt, endRecorded }]);
  return periods;
}

/** Gives eggs to a keeper (null = somebody without an account) from a day on. Lock their clutches first. */
export async function moveEggs(
  tx: Tx,
  move: {
    readonly eggIds: readonly string[];
    readonly keeperId: string | null;
    readonly transferId: string;
    readonly on: Day;
  },
): Promise<void> {
  const { eggIds, keeperId, transferId } = move;
  const on = toDateColumn(move.on);
  await tx.db.eggCustody.updateMany({
    where: { eggId: { in: [...eggIds] }, validTo: null },
    data: { validTo: on, endRecorded: tx.now },
  });
  await tx.db.eggCustody.createMany({
    data: eggIds.map((eggId) => ({ id: uuid(), eggId, keeperId, transferId, validFrom: on, recordedAt: tx.now })),
  });
}

/** Puts eggs on their way in a transfer. */
export async function putOnWay(tx: Tx, transferId: string, eggIds: readonly string[]): Promise<void> {
  if (eggIds.length === 0) return;
  await tx.db.egg.updateMany({ where: { id: { in: [...eggIds] } }, data: { onItsWay: transferId } });
}

/** Eggs are no longer on their way; all of the transfer's when none are named. */
export async function takeOffWay(tx: Tx, transferId: string, eggIds?: readonly string[]): Promise<void> {
  const which = eggIds === undefined ? {} : { id: { in: [...eggIds] } };
  await tx.db.egg.updateMany({ where: { onItsWay: transferId, ...which }, data: { onItsWay: null } });
}

/** Gives the eggs that somebody without an account received in a transfer to the keeper they are now. Gives the eggs' clutches. */
export async function claimEggs(tx: Tx, transferId: string, keeperId: string): Promise<void> {
  await tx.db.eggCustody.updateMany({ where: { transferId, keeperId: null }, data: { keeperId } });
}
