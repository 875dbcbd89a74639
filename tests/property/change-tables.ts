import { NO_ID } from '../../libs/kernel/index.js';
import { type PrismaClient } from '../../libs/platform/prisma/index.js';
import { type Model } from './history-model.js';

type Row = Awaited<ReturnType<PrismaClient['lotChange']['findMany']>>[number];

const oldestFirst = { orderBy: [{ recordedAt: 'asc' as const }, { id: 'asc' as const }] };

/** All versions of each change of a lot, the changes in the order in which they were first recorded. */
function chainsOf(rows: readonly Row[]): Row[][] {
  const byId = new Map(rows.map((row) => [row.id, row]));
  const later = new Set(rows.map(({ supersededBy }) => supersededBy));
  return rows
    .filter(({ id }) => !later.has(id))
    .map((first) => {
      const chain = [first];
      for (let row = byId.get(first.supersededBy ?? ''); row; row = byId.get(row.supersededBy ?? '')) chain.push(row);
      return chain;
    });
}

/** The id of a lot's change by its place: of the version said last, or of the first. */
export async function changeAt(client: PrismaClient, lotId: string, at: number, old: boolean): Promise<string> {
  const chain = chainsOf(await client.lotChange.findMany({ where: { lotId }, ...oldestFirst }))[at];
  return chain?.at(old ? 0 : -1)?.id ?? NO_ID;
}

const told = ({ cause, delta, on }: { cause: string; delta: number; on: string }): string =>
  `${on} ${delta} ${cause === 'opening' || cause === 'split_in' ? 'made' : cause}`;

/** How the count of each lot came about by the tables: every change with all that was said of it. */
export async function readChanges(client: PrismaClient, ids: readonly string[]): Promise<Record<string, string[][]>> {
  const rows = await client.lotChange.findMany({ where: { lotId: { in: [...ids] } }, ...oldestFirst });
  const lots = [...new Set(rows.map(({ lotId }) => lotId))];
  return Object.fromEntries(
    lots.map((id) => [
      id,
      chainsOf(rows.filter(({ lotId }) => lotId === id)).map((chain) => [
        ...chain.map(({ cause, delta, happenedOn }) =>
          told({ cause, delta, on: happenedOn.toISOString().slice(0, 10) }),
        ),
        ...(chain.at(-1)?.supersededAt === null ? [] : ['taken back']),
      ]),
    ]),
  );
}

/** The same by a model. */
export function changesBy(model: Model): Record<string, string[][]> {
  const lots = [...model.animals.values()].filter(({ kind }) => kind === 'lot');
  return Object.fromEntries(
    lots.map(({ id, changes }) => [
      id,
      changes.map(({ versions, inForce }) => [...versions.map(told), ...(inForce ? [] : ['taken back'])]),
    ]),
  );
}
