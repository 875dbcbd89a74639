import { Injectable } from '@nestjs/common';
import {
  type Audience,
  fromDateColumn,
  fromDateColumnOrNull,
  type HolderTies,
  showsHolder,
} from '../../access/index.js';
import { type Day, formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type Arrival, type Departure, type Holder } from '../core/holder.core.js';
import { type BookAnimal, type BookChange, type BookPeriod } from '../core/stock-book.core.js';

/** Who has an animal now, with what decides whether a viewer is told. */
export type HolderFacts = {
  readonly kind: Holder['kind'];
  readonly keeperId: string | null;
  readonly name: string | null;
  /** A keeper who shows the viewer that it has the animal. */
  readonly shown: boolean;
  /** An outside party the viewer recorded. */
  readonly ownContact: boolean;
};

/** Whose an animal is now. `own` in lowest terms, null where the viewer's keepers own nothing of it. */
export type OwnershipFacts = {
  readonly since: Day;
  readonly own: { readonly parts: number; readonly of: number } | null;
  readonly others: number;
  readonly disputed: boolean;
};

/** What stands for somebody outside the registry whom another keeper recorded. */
export const OUTSIDE_LABEL = 'Outside the registry';

type PeriodRow = {
  animal_id: string;
  keeper_id: string | null;
  valid_from: Date;
  valid_to: Date | null;
  arrived_by: Arrival;
  left_by: Departure | null;
  began_at: Date;
  holder_kind: Holder['kind'];
  label: string | null;
};

type ChangeRow = { lot_id: string; cause: BookChange['cause']; delta: number; happened_on: Date; recorded_at: Date };

/** Reads custody for those who may: holders through the animal's own scope, the stock book for its keeper. */
@Injectable()
export class CustodyReadStore {
  constructor(private readonly database: Database) {}

  /** Who has each animal now. Callers show it as far as the viewer's level allows. */
  async findHolders(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, HolderFacts>> {
    const own = viewer.keepers.map((keeper) => keeper.keeperId);
    const rows = await this.database.client.$queryRaw<
      (Omit<HolderFacts, 'shown'> & HolderTies & { animalId: string; audience: Audience | null })[]
    >`
      SELECT c.animal_id AS "animalId", c.holder_kind::text AS kind, c.keeper_id AS "keeperId", coalesce(k.name, o.name) AS name,
             coalesce(o.recorded_for = ANY(${own}::uuid[]), false) AS "ownContact",
             s.holdings::text AS audience,
             EXISTS (SELECT 1 FROM club_member m
                     WHERE m.keeper_id = k.id AND m.club_id = ANY(${[...viewer.clubIds]}::uuid[]) AND m.left_on IS NULL) AS "clubMates",
             EXISTS (SELECT 1 FROM animal_access r
                     WHERE r.animal_id = c.animal_id AND r.keeper_id = ANY(${own}::uuid[]) AND r.relation = 'receiver' AND r.valid_to IS NULL)
             OR EXISTS (SELECT 1 FROM ask_thread t
                        WHERE t.animal_id = c.animal_id AND t.asker_keeper_id = ANY(${own}::uuid[]) AND t.holder_keeper_id = c.keeper_id
                          AND t.revealed_at IS NOT NULL AND t.closed_at IS NULL)
             OR EXISTS (SELECT 1 FROM ask_thread t
                        WHERE t.about_animal_id = c.animal_id AND t.holder_keeper_id = ANY(${own}::uuid[]) AND t.asker_keeper_id = c.keeper_id
                          AND t.revealed_at IS NOT NULL AND t.closed_at IS NULL) AS "otherParty"
      FROM custody c LEFT JOIN keeper k ON k.id = c.keeper_id LEFT JOIN outside_party o ON o.id = c.outside_party_id
      LEFT JOIN access_sharing s ON s.animal_id = c.animal_id AND s.keeper_id = c.keeper_id AND s.relation = 'holder' AND s.valid_to IS NULL
      WHERE c.animal_id = ANY(${[...animalIds]}::uuid[]) AND c.superseded_at IS NULL AND c.valid_to IS NULL`;
    return new Map(
      rows.map(({ animalId, audience, clubMates, otherParty, ...holder }) => [
        animalId,
        { ...holder, shown: audience !== null && showsHolder(audience, { clubMates, otherParty }) },
      ]),
    );
  }

  /** Whose each animal is now; one that nobody owns is left out. Callers show it where the viewer's level allows. */
  async findOwnership(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, OwnershipFacts>> {
    const own = viewer.keepers.map((keeper) => keeper.keeperId);
    const rows = await this.database.client.$queryRaw<
      { animalId: string; since: Date; disputed: boolean; parts: number | null; of: number | null; others: number }[]
    >`
      SELECT w.animal_id AS "animalId", w.valid_from AS since, w.state = 'disputed' AS disputed, w.others,
             (w.own / gcd(w.own, w.whole))::int AS parts, (w.whole / gcd(w.own, w.whole))::int AS of
      FROM (
        SELECT o.animal_id, o.valid_from, o.state, sum(s.parts) AS whole,
               sum(s.parts) FILTER (WHERE s.keeper_id = ANY(${own}::uuid[])) AS own,
               (count(*) FILTER (WHERE s.keeper_id IS NULL OR s.keeper_id <> ALL(${own}::uuid[])))::int AS others
        FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
        WHERE o.animal_id = ANY(${[...animalIds]}::uuid[]) AND o.superseded_at IS NULL AND o.valid_to IS NULL
        GROUP BY o.id
      ) w`;
    return new Map(
      rows.map(({ animalId, since, parts, of, ...rest }) => [
        animalId,
        { ...rest, since: fromDateColumn(since), own: parts === null || of === null ? null : { parts, of } },
      ]),
    );
  }

  /** Everything a keeper has or had, with its whole chain of holders: what `stockBook` is computed from. The caller acts for the keeper. */
  async readBook(keeperId: string): Promise<BookAnimal[]> {
    const animals = await this.database.client.$queryRaw<
      { id: string; register_number: string; kind: 'individual' | 'lot'; count_estimated: boolean }[]
    >`
      SELECT a.id, a.register_number, a.kind::text AS kind, a.count_estimated FROM animal a
      WHERE a.id IN (SELECT c.animal_id FROM custody c WHERE c.keeper_id = ${keeperId}::uuid AND c.superseded_at IS NULL) ORDER BY a.id`;
    const ids = animals.map((animal) => animal.id);
    const periods = groupRows(await this.readPeriods(keeperId, ids), (row) => row.animal_id);
    const changes = groupRows(await this.readChanges(ids), (row) => row.lot_id);
    return animals.map((animal) => ({
      animalId: animal.id,
      registerNumber: formatRegisterNumber(animal.register_number as RegisterNumber),
      kind: animal.kind,
      estimated: animal.count_estimated,
      periods: toPeriods(periods.get(animal.id) ?? [], keeperId),
      changes: (changes.get(animal.id) ?? []).map((row) => ({
        cause: row.cause,
        delta: row.delta,
        on: fromDateColumn(row.happened_on),
        recordedAt: row.recorded_at,
      })),
    }));
  }

  /**
   * The periods in force. A period that was corrected began when its first version was recorded. Somebody this keeper
   * recorded as an outside party keeps that name in this keeper's book, also after they have taken the animal up.
   */
  private async readPeriods(keeperId: string, ids: readonly string[]): Promise<PeriodRow[]> {
    return this.database.client.$queryRaw<PeriodRow[]>`
      WITH RECURSIVE version AS (
        SELECT c.id AS head, c.id, c.animal_id, c.recorded_at, c.outside_party_id FROM custody c
        WHERE c.animal_id = ANY(${[...ids]}::uuid[]) AND c.superseded_at IS NULL
        UNION ALL
        SELECT v.head, p.id, p.animal_id, p.recorded_at, p.outside_party_id
        FROM version v JOIN custody p ON p.animal_id = v.animal_id AND p.superseded_by = v.id
      ), history AS (
        SELECT v.head, min(v.recorded_at) AS began_at, min(o.name) AS contact
        FROM version v LEFT JOIN outside_party o ON o.id = v.outside_party_id AND o.recorded_for = ${keeperId}::uuid GROUP BY v.head
      )
      SELECT c.animal_id, c.keeper_id, c.valid_from, c.valid_to, c.arrived_by, c.left_by, h.began_at, c.holder_kind::text AS holder_kind,
             coalesce(h.contact, k.name) AS label
      FROM custody c JOIN history h ON h.head = c.id LEFT JOIN keeper k ON k.id = c.keeper_id
      ORDER BY c.animal_id, c.valid_from, coalesce(c.valid_to, 'infinity'::date), h.began_at, c.id`;
  }

  private async readChanges(ids: readonly string[]): Promise<ChangeRow[]> {
    return this.database.client.$queryRaw<ChangeRow[]>`
      SELECT lot_id, cause::text AS cause, delta, happened_on, recorded_at FROM lot_change
      WHERE lot_id = ANY(${[...ids]}::uuid[]) AND superseded_at IS NULL ORDER BY happened_on, recorded_at, id`;
  }
}

function toPeriods(rows: readonly PeriodRow[], keeperId: string): BookPeriod[] {
  return rows.map((row, index) => {
    const isMine = (other: PeriodRow | undefined): boolean => other === undefined || other.keeper_id === keeperId;
    // The book tells its keeper whom an animal came from and went to, and nothing of its way before and after.
    const label = (other: PeriodRow | undefined): string | null => {
      if (other === undefined || isMine(other) || row.keeper_id !== keeperId) return null;
      return other.label ?? (other.holder_kind === 'outside_party' ? OUTSIDE_LABEL : other.holder_kind);
    };
    return {
      mine: row.keeper_id === keeperId,
      from: fromDateColumn(row.valid_from),
      to: fromDateColumnOrNull(row.valid_to),
      beganAt: row.began_at,
      arrivedBy: row.arrived_by,
      leftBy: row.left_by,
      cameFrom: label(rows[index - 1]),
      wentTo: label(rows[index + 1]),
    };
  });
}
