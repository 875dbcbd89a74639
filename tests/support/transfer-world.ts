import { setTimeout as sleep } from 'node:timers/promises';
import pg from 'pg';
import { v7 as uuid } from 'uuid';
import { type FactInput } from '../../libs/animal/index.js';
import { registerStock } from '../../libs/custody/index.js';
import { type Day, day, decide, exactDay, type Viewer } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type Database, createPrismaClient, type PrismaClient, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { AddArrivalPhotos } from '../../libs/transfer/app/add-arrival-photos.js';
import { AcceptTransfer } from '../../libs/transfer/app/accept-transfer.js';
import { CancelTransfer } from '../../libs/transfer/app/cancel-transfer.js';
import { DeclineTransfer } from '../../libs/transfer/app/decline-transfer.js';
import { FailTransfer } from '../../libs/transfer/app/fail-transfer.js';
import { LeaveOutItems } from '../../libs/transfer/app/leave-out-items.js';
import { OfferTransfer } from '../../libs/transfer/app/offer-transfer.js';
import { ReceiveTransfer } from '../../libs/transfer/app/receive-transfer.js';
import { SendTransfer } from '../../libs/transfer/app/send-transfer.js';
import { SettleCondition } from '../../libs/transfer/app/settle-condition.js';
import { TakeUpTransfer } from '../../libs/transfer/app/take-up-transfer.js';
import { WithdrawTransfer } from '../../libs/transfer/app/withdraw-transfer.js';
import { type ArrivalState } from '../../libs/transfer/core/transfer.core.js';
import { ExpireOffersHandler } from '../../libs/transfer/jobs/expire-offers.handler.js';
import { SpokenCodes } from '../../libs/transfer/hand-over/spoken-codes.js';
import { TransferStore } from '../../libs/transfer/store/transfer.store.js';
import { createTestDatabase } from './template-db.js';

/** The day on which every animal of these tests came to its first keeper. */
export const REGISTERED = day('2026-01-10');
/** The day on which these tests happen. */
export const TODAY = day('2026-06-10');

/** A clock at noon of TODAY that moves on by a millisecond each time it is read, so that entries have an order. */
class SteppingClock extends Clock {
  private moment = Date.parse(`${TODAY}T12:00:00Z`);

  override now(): Date {
    this.moment += 1;
    return new Date(this.moment);
  }

  /** So many minutes pass. */
  forward(minutes: number): void {
    this.moment += minutes * 60_000;
  }

  /** Back to the beginning of TODAY, for another story over the same database. */
  restart(): void {
    this.moment = Date.parse(`${TODAY}T00:00:00Z`);
  }
}

/** A keeper with the account that acts for it. */
export type Party = { readonly keeperId: string; readonly viewer: Viewer };

/**
 * Keepers, animals and the transfer use cases over a database of its own. Call `close` in `afterAll`. `hasty`: commits do not
 * wait for the disk, for a test that makes very many of them.
 */
export async function transferWorld({ hasty = false } = {}) {
  const database = await createTestDatabase();
  const url = hasty ? `${database.url}?options=-c%20synchronous_commit%3Doff` : database.url;
  const client = createPrismaClient(url, 8);
  // Connections are opened now, not while a barrier waits for those who use them.
  await Promise.all(Array.from({ length: 4 }, () => client.$queryRaw`SELECT pg_sleep(0.05)::text`));
  const store = new TransferStore({ client } as Database);
  const codes = new SpokenCodes({ authSecret: 'a secret of at least 32 characters, only for tests' });
  const clock = new SteppingClock();
  const uow = new UnitOfWork(client, clock);
  const taxonId = await insertTaxon(client);
  return {
    client,
    clock,
    uow,
    store,
    codes,
    url: database.url,
    taxonId,
    offer: new OfferTransfer(uow, store, codes, new NoticeStore({ client } as Database)),
    accept: new AcceptTransfer(uow, store),
    send: new SendTransfer(uow, store),
    receive: new ReceiveTransfer(uow, store),
    decline: new DeclineTransfer(uow, store),
    withdraw: new WithdrawTransfer(uow, store),
    cancel: new CancelTransfer(uow, store),
    fail: new FailTransfer(uow, store),
    leaveOut: new LeaveOutItems(uow, store),
    photos: new AddArrivalPhotos(uow, store),
    settle: new SettleCondition(uow, store),

    /** Runs the job that ends the offers nobody answered before the day. */
    async expire(on: Day): Promise<void> {
      const handler = new ExpireOffersHandler(store, new NoticeStore({ client } as Database));
      await uow.writeAsServer(null, async (tx) => decide(await handler.handle(tx, { day: on, batch: 0 })));
    },
    takeUp: new TakeUpTransfer(uow, store, codes),

    /** A second instance of the application over the same database, with connections of its own. Close it. */
    async another() {
      const own = createPrismaClient(database.url, 2);
      await own.$queryRaw`SELECT 1`;
      const accept = new AcceptTransfer(
        new UnitOfWork(own, new SteppingClock()),
        new TransferStore({ client: own } as Database),
      );
      return { accept, close: () => own.$disconnect() };
    },

    /** A new keeper of the name, and a viewer who acts for it. */
    async party(name: string): Promise<Party> {
      const [keeperId, accountId] = [uuid(), uuid()];
      await client.account.create({
        data: { id: accountId, email: `${accountId}@test.example`, passwordHash: 'none', createdAt: new Date() },
      });
      await client.keeper.create({ data: { id: keeperId, name, kind: 'person', createdAt: new Date() } });
      return {
        keeperId,
        viewer: { accountId, keepers: [{ keeperId, role: 'owner' }], clubIds: [], offices: [], requestId: uuid() },
      };
    },

    /** A new animal, or a lot of `count`, held and owned by the party since REGISTERED. Gives its id. */
    animal(holder: Party, options: { lotOf?: number; facts?: FactInput[]; since?: Day } = {}): Promise<string> {
      const { lotOf, facts = [], since = REGISTERED } = options;
      return uow.writeAsServer(null, async (tx) => {
        const made = await registerStock(tx, {
          animal: {
            kind: lotOf === undefined ? 'individual' : 'lot',
            taxonId,
            lineId: null,
            count: lotOf ?? 1,
            countEstimated: false,
            keeperId: holder.keeperId,
            on: since,
            facts: [{ fact: { kind: 'origin', body: { originClass: 'bred' } }, when: exactDay(since) }, ...facts],
            marks: [],
          },
          parents: [],
          from: since,
          arrivedBy: 'registered',
          owners: [{ owner: { kind: 'keeper', keeperId: holder.keeperId }, parts: 1 }],
        });
        return made.ok ? decide(made.value.id) : made;
      });
    },

    /** Periods of custody in force, in order: who, from, to, how it began and ended. */
    async custody(animalId: string) {
      const rows = await client.custody.findMany({
        where: { animalId, supersededAt: null },
        orderBy: [{ validFrom: 'asc' }, { validTo: 'asc' }],
      });
      const text = (date: Date | null): string | null => date?.toISOString().slice(0, 10) ?? null;
      return rows.map((row) => ({
        holder: row.keeperId ?? row.outsidePartyId,
        from: text(row.validFrom),
        to: text(row.validTo),
        arrivedBy: row.arrivedBy,
        leftBy: row.leftBy,
      }));
    },

    /** Owners now: party id and parts. */
    async owners(animalId: string): Promise<(readonly [string | null, number])[]> {
      const shares = await client.ownershipShare.findMany({
        where: { ownership: { animalId, supersededAt: null, validTo: null } },
        orderBy: { id: 'asc' },
      });
      return shares.map((share) => [share.keeperId ?? share.outsidePartyId, share.parts] as const);
    },

    /** Actions of the ledger entries about a transfer, oldest first, with their bodies. */
    async ledger(transferId: string): Promise<{ action: string; body: Record<string, unknown> }[]> {
      const entries = await client.ledgerEntry.findMany({
        where: { subjects: { has: transferId } },
        orderBy: { id: 'asc' },
      });
      return entries.map(({ action, body }) => ({ action, body: JSON.parse(body) as Record<string, unknown> }));
    },

    async close(): Promise<void> {
      await client.$disconnect();
      await database.drop();
    },
  };
}

export type TransferWorld = Awaited<ReturnType<typeof transferWorld>>;

/** Input of an offer of whole animals or lots from one party to another. */
export function gift(from: Party, to: Party, ...animalIds: string[]) {
  return {
    fromKeeperId: from.keeperId,
    kind: 'gift' as const,
    toKeeperId: to.keeperId,
    items: animalIds.map((animalId) => ({ animalId })),
  };
}

/** Input of a receipt item. */
export function arrived(animalId: string, counts: Partial<Record<ArrivalState, number>>) {
  return {
    animalId,
    arrivals: Object.entries(counts).map(([state, count]) => ({ state: state as ArrivalState, count })),
  };
}

async function insertTaxon(client: PrismaClient): Promise<string> {
  const id = uuid();
  await client.taxon.create({
    data: {
      id,
      scientificName: 'Dendrobates tinctorius',
      commonName: 'Dyeing poison frog',
      className: 'Amphibia',
      orderName: 'Anura',
      nameSource: 'test',
      quarantineDays: 60,
      quarantineSource: 'test',
    },
  });
  await client.lineagePopulation.create({ data: { id: uuid(), taxonId: id } });
  return id;
}

/**
 * A second connection that holds a row lock, so that the use cases under test pile up behind it and are let go at once:
 * the barrier of the concurrency tests.
 */
export async function holdRow(
  url: string,
  table:
    | 'animal'
    | 'keeper'
    | 'transfer'
    | 'lineage_population'
    | 'ask_thread'
    | 'clutch'
    | 'enclosure'
    | 'club'
    | 'account',
  id: string,
) {
  const holder = new pg.Client({ connectionString: url });
  await holder.connect();
  await holder.query('BEGIN');
  await holder.query(`SELECT id FROM ${table} WHERE id = $1 FOR UPDATE`, [id]);
  /** Waits until `count` other sessions of this database wait for a lock, or until `orDone` is settled. */
  async function untilWaiting(count: number, orDone?: Promise<unknown>): Promise<void> {
    let done = false;
    const settle = () => (done = true);
    void orDone?.then(settle, settle);
    for (const end = Date.now() + 20_000; !done && Date.now() < end; await sleep(20)) {
      const { rows } = await holder.query<{ waiting: number }>(
        `SELECT count(*)::int AS waiting FROM pg_stat_activity
         WHERE datname = current_database() AND wait_event_type = 'Lock'`,
      );
      if ((rows[0]?.waiting ?? 0) >= count) return;
    }
    if (done) return;
    await holder.end();
    throw new Error(`Fewer than ${count} sessions came to wait for the lock.`);
  }
  return {
    untilWaiting,
    /** Waits until `count` other sessions of this database wait for a lock, then lets them go. */
    async releaseWhenWaiting(count: number): Promise<void> {
      await untilWaiting(count);
      await holder.query('COMMIT');
      await holder.end();
    },
  };
}
