import { randomUUID } from 'node:crypto';
import { registerStock } from '../../libs/custody/index.js';
import { JoinQuarantine, OpenQuarantine, ReleaseQuarantine } from '../../libs/health/index.js';
import { type Day, day, decide, type Viewer } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type PrismaClient, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { insertTaxon } from '../../libs/taxon/index.js';
import { keeper } from './world.js';

/** Since when keepers of these tests have their animals. */
export const HELD_SINCE = day('2025-12-01');

/** A keeper with animals and the use cases of quarantine, on a day that the test sets. */
export async function quarantineWorld(client: PrismaClient) {
  let today = day('2026-01-01');
  const clock = new Clock();
  clock.now = () => new Date(`${today}T12:00:00Z`);
  const uow = new UnitOfWork(client, clock);
  const keeperId = await keeper(client);
  const viewer: Viewer = {
    accountId: randomUUID(),
    keepers: [{ keeperId, role: 'owner' }],
    clubIds: [],
    offices: [],
    requestId: randomUUID(),
  };
  return {
    keeperId,
    viewer,
    uow,
    open: new OpenQuarantine(uow),
    join: new JoinQuarantine(uow),
    release: new ReleaseQuarantine(uow),
    setDay: (text: string) => void (today = day(text)),

    taxon: (orderName: string, quarantineDays = 30, className = 'Reptilia'): Promise<string> =>
      uow.writeAsServer(null, async (tx) => {
        const taxon = await insertTaxon(
          tx,
          {
            scientificName: `Species ${randomUUID()}`,
            commonName: 'an invented species',
            className,
            orderName,
            nameSource: 'invented for this test',
            quarantineDays,
            quarantineSource: `invented rule of ${quarantineDays} days`,
          },
          [],
        );
        return decide(taxon.id);
      }),

    animal: (taxonId: string, from: Day = HELD_SINCE): Promise<string> =>
      uow.writeAsServer(null, async (tx) => {
        const made = await registerStock(tx, {
          animal: {
            ...{ kind: 'individual', taxonId, lineId: null, count: 1, countEstimated: false, keeperId, on: from },
            facts: [],
            marks: [],
          },
          parents: [],
          from,
          arrivedBy: 'registered',
          owners: [{ owner: { kind: 'keeper', keeperId }, parts: 1 }],
        });
        return made.ok ? decide(made.value.id) : made;
      }),

    /** Notices about the end of a group, earliest end first. */
    async notices(groupId: string): Promise<{ dueOn: string | undefined; registerNumbers: string[] }[]> {
      const rows = await client.notice.findMany({
        where: { kind: 'quarantine_ends', body: { path: ['groupId'], equals: groupId } },
        orderBy: { dueOn: 'asc' },
      });
      return rows.map(({ dueOn, body }) => ({
        dueOn: dueOn?.toISOString().slice(0, 10),
        registerNumbers: (body as { registerNumbers: string[] }).registerNumbers,
      }));
    },

    async numbersOf(animalIds: readonly string[]): Promise<string[]> {
      const rows = await client.animal.findMany({ where: { id: { in: [...animalIds] } } });
      return rows.map(({ registerNumber }) => registerNumber).sort();
    },
  };
}

export type QuarantineWorld = Awaited<ReturnType<typeof quarantineWorld>>;
