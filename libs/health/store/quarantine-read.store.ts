import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { Database, type Db, Prisma } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type Quarantine, type QuarantineEntry, type RestartScope } from '../core/quarantine.core.js';
import { CLOCK_KEY, GROUPS, LEFT_ON } from './quarantine-sql.store.js';

/** A stay as stored. */
export type StoredEntry = QuarantineEntry & {
  readonly id: string;
  readonly registerNumber: string;
  readonly recordedAt: Date;
};

/** A group as stored, its entries in the order of entering. */
export type StoredQuarantine = Omit<Quarantine, 'entries'> & {
  readonly id: string;
  readonly keeperId: string;
  readonly name: string;
  readonly daysSource: string;
  readonly openedAt: Date;
  readonly transferId: string | null;
  readonly entries: readonly StoredEntry[];
};

/** The last group of a page. */
export type QuarantineKey = { readonly openedAt: Date; readonly id: string };

type Reader = Pick<Db, '$queryRaw'>;

type GroupRow = {
  id: string;
  keeper_id: string;
  name: string;
  days: number;
  days_source: string;
  restart_scope: RestartScope;
  opened_at: Date;
  transfer_id: string | null;
  released_on: Date | null;
  release_reason: string | null;
};

type EntryRow = {
  id: string;
  group_id: string;
  animal_id: string;
  register_number: string;
  order_name: string;
  class_name: string;
  entered_on: Date;
  left_on: Date | null;
  recorded_at: Date;
};

const GROUP_COLUMNS = Prisma.sql`g.id, g.keeper_id, g.name, g.days, g.days_source, g.restart_scope::text AS restart_scope,
  g.opened_at, g.transfer_id, g.released_on, g.release_reason`;

/** The groups with these ids, in id order; unknown ids are missing. No scope: the caller has asked for whom. */
export async function readQuarantines(db: Reader, ids: readonly string[]): Promise<StoredQuarantine[]> {
  if (ids.length === 0) return [];
  const groups = await db.$queryRaw<GroupRow[]>`
    SELECT ${GROUP_COLUMNS} FROM quarantine_group g WHERE g.id = ANY(${[...ids]}::uuid[]) ORDER BY g.id`;
  return withEntries(db, groups);
}

/** The animals of `ids` that are in an open entry, and of which group. */
export async function findOpenGroups(db: Reader, animalIds: readonly string[]): Promise<Map<string, string>> {
  const rows = await db.$queryRaw<{ animal_id: string; group_id: string }[]>`
    SELECT animal_id, group_id FROM quarantine_entry WHERE animal_id = ANY(${[...animalIds]}::uuid[]) AND left_on IS NULL`;
  return new Map(rows.map((row) => [row.animal_id, row.group_id]));
}

/** Every group the animals are or were in, in id order. */
export async function findGroupsOf(db: Reader, animalIds: readonly string[]): Promise<string[]> {
  const rows = await db.$queryRaw<{ group_id: string }[]>`
    SELECT DISTINCT group_id FROM quarantine_entry WHERE animal_id = ANY(${[...animalIds]}::uuid[]) ORDER BY group_id`;
  return rows.map((row) => row.group_id);
}

/** The group that the arrival by a transfer opened. */
export async function findArrivalQuarantine(db: Reader, transferId: string): Promise<StoredQuarantine | null> {
  const groups = await db.$queryRaw<GroupRow[]>`
    SELECT ${GROUP_COLUMNS} FROM quarantine_group g WHERE g.transfer_id = ${transferId}::uuid`;
  return (await withEntries(db, groups))[0] ?? null;
}

/** Reads quarantine for those who may. */
@Injectable()
export class QuarantineReadStore {
  constructor(private readonly database: Database) {}

  /** The group with this id. The caller acts for its keeper. */
  async find(id: string): Promise<StoredQuarantine | null> {
    return (await readQuarantines(this.database.client, [id]))[0] ?? null;
  }

  /** A keeper's groups, last opened first, with one more than asked where there is one. The caller acts for the keeper. */
  async page(keeperId: string, first: number, after: QuarantineKey | null): Promise<StoredQuarantine[]> {
    const { client } = this.database;
    const rows = await client.$queryRaw<GroupRow[]>`
      SELECT ${GROUP_COLUMNS} FROM quarantine_group g
      WHERE g.keeper_id = ${keeperId}::uuid
        AND (${after === null} OR (g.opened_at, g.id) < (${after?.openedAt ?? null}::timestamptz, ${after?.id ?? null}::uuid))
      ORDER BY g.opened_at DESC, g.id DESC LIMIT ${first + 1}`;
    return withEntries(client, rows);
  }

  /** The group each animal is in with an open entry, by animal id. For viewers at level `full`. */
  async findOpen(animalIds: readonly string[]): Promise<Map<string, StoredQuarantine>> {
    const { client } = this.database;
    const open = await findOpenGroups(client, animalIds);
    const groups = new Map(
      (await readQuarantines(client, [...new Set(open.values())])).map((group) => [group.id, group]),
    );
    return new Map(
      [...open].flatMap(([animalId, groupId]) => {
        const group = groups.get(groupId);
        return group === undefined ? [] : [[animalId, group] as const];
      }),
    );
  }

  /**
   * Which of the animals are in quarantine on a day, whoever keeps them. A system read, without a viewer: it serves to leave
   * animals out of a search; neither the answer nor the reason is ever shown.
   */
  async isInQuarantine(animalIds: readonly string[], day: Day): Promise<Set<string>> {
    if (animalIds.length === 0) return new Set();
    const on = toDateColumn(day);
    const rows = await this.database.client.$queryRaw<{ animal_id: string }[]>`
      SELECT DISTINCT s.animal_id FROM (
        SELECT e.animal_id, e.group_id, g.days, g.restart_scope, e.entered_on, ${LEFT_ON} AS left_on, ${CLOCK_KEY} AS clock
        FROM ${GROUPS} WHERE e.animal_id = ANY(${[...animalIds]}::uuid[]) AND e.entered_on <= ${on}::date
      ) s
      WHERE (s.left_on IS NULL OR s.left_on > ${on}::date)
        AND ${on}::date < s.days + (
          SELECT max(e.entered_on) FROM ${GROUPS}
          WHERE g.id = s.group_id AND e.entered_on <= ${on}::date AND ${CLOCK_KEY} = s.clock)`;
    return new Set(rows.map((row) => row.animal_id));
  }
}

async function withEntries(db: Reader, groups: readonly GroupRow[]): Promise<StoredQuarantine[]> {
  const rows = await db.$queryRaw<EntryRow[]>`
    SELECT e.id, e.group_id, e.animal_id, a.register_number, t.order_name, t.class_name, e.entered_on, ${LEFT_ON} AS left_on,
           e.recorded_at
    FROM ${GROUPS} WHERE g.id = ANY(${groups.map(({ id }) => id)}::uuid[])
    ORDER BY e.entered_on, a.register_number, e.id`;
  const entries = groupRows(rows, (row) => row.group_id);
  return groups.map((row) => ({
    id: row.id,
    keeperId: row.keeper_id,
    name: row.name,
    days: row.days,
    daysSource: row.days_source,
    restartScope: row.restart_scope,
    openedAt: row.opened_at,
    transferId: row.transfer_id,
    released:
      row.released_on === null || row.release_reason === null
        ? null
        : { on: fromDateColumn(row.released_on), reason: row.release_reason },
    entries: (entries.get(row.id) ?? []).map((entry) => ({
      id: entry.id,
      animalId: entry.animal_id,
      registerNumber: entry.register_number,
      orderName: entry.order_name,
      className: entry.class_name,
      enteredOn: fromDateColumn(entry.entered_on),
      leftOn: fromDateColumnOrNull(entry.left_on),
      recordedAt: entry.recorded_at,
    })),
  }));
}
