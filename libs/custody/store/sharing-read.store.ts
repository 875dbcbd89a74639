import { Injectable } from '@nestjs/common';
import {
  type Audience,
  fromDateColumn,
  fromDateColumnOrNull,
  type RelationPeriod,
  type SharingChoice,
  type SightHistory,
  toDateColumn,
} from '../../access/index.js';
import { type Day, type Viewer } from '../../kernel/index.js';
import { Database, type Db } from '../../platform/prisma/index.js';

/** A collection with what its keeper set for it. */
export type CollectionView = {
  readonly id: string;
  readonly keeperId: string;
  readonly name: string;
  readonly choice: SharingChoice;
};

/** What a keeper of the viewer shows of an animal, and by which of its settings. */
export type SharingView = {
  readonly collectionId: string | null;
  readonly own: SharingChoice;
  readonly holdings: Audience;
  readonly lineageShared: boolean;
};

/** Reading granted to a guest. `until` is the first day without it. */
export type GuestView = {
  readonly grantId: string;
  readonly animalId: string;
  readonly guest: { readonly id: string; readonly name: string };
  readonly grantedBy: { readonly id: string; readonly name: string };
  readonly from: Day;
  readonly until: Day;
};

const NOTHING_SET: SharingChoice = { holdings: null, lineageWithheld: false };
const CHOICE = { holdings: true, lineageWithheld: true } as const;
const IN_FORCE = { where: { endedAt: null }, select: CHOICE } as const;

/** Reads what keepers set about sharing. The caller acts for the keeper, or has or owns the animals. */
@Injectable()
export class SharingReadStore {
  constructor(private readonly database: Database) {}

  /** A page of a keeper's collections in the order they were opened, with one more where there is one. */
  async pageOfCollections(keeperId: string, first: number, after: string | null): Promise<CollectionView[]> {
    const rows = await this.database.client.collection.findMany({
      where: { keeperId, ...(after === null ? {} : { id: { gt: after } }) },
      include: { settings: IN_FORCE },
      orderBy: { id: 'asc' },
      take: first + 1,
    });
    return rows.map(toCollection);
  }

  async findCollections(ids: readonly string[]): Promise<Map<string, CollectionView>> {
    const rows = await this.database.client.collection.findMany({
      where: { id: { in: [...ids] } },
      include: { settings: IN_FORCE },
    });
    return new Map(rows.map((row) => [row.id, toCollection(row)]));
  }

  /** Ids of a page of the animals in a collection, in the order they were registered, with one more where there is one. */
  async pageOfAnimals(collectionId: string, first: number, after: string | null): Promise<string[]> {
    const rows = await this.database.client.$queryRaw<{ animal_id: string }[]>`
      SELECT a.animal_id FROM collection_stay c JOIN animal_access a ON a.id = c.access_id AND a.valid_to IS NULL
      WHERE c.collection_id = ${collectionId}::uuid AND c.ended_at IS NULL
        AND (${after}::uuid IS NULL OR a.animal_id > ${after}::uuid)
      ORDER BY a.animal_id LIMIT ${first + 1}`;
    return rows.map((row) => row.animal_id);
  }

  /** What the viewer's keeper that has each animal, or else owns it, shows of it. */
  async findSharing(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, SharingView>> {
    const own = viewer.keepers.map(({ keeperId }) => keeperId);
    const rows = await this.database.client.$queryRaw<
      (Omit<SharingView, 'own'> & { animalId: string; ownHoldings: Audience | null; ownWithheld: boolean })[]
    >`
      SELECT DISTINCT ON (v.animal_id) v.animal_id AS "animalId", c.collection_id AS "collectionId",
             s.holdings::text AS "ownHoldings", coalesce(s.lineage_withheld, false) AS "ownWithheld",
             v.holdings::text AS holdings, v.lineage_shared AS "lineageShared"
      FROM access_sharing v
      LEFT JOIN collection_stay c ON c.access_id = v.access_id AND c.ended_at IS NULL
      LEFT JOIN sharing_setting s ON s.access_id = v.access_id AND s.ended_at IS NULL
      WHERE v.animal_id = ANY(${[...animalIds]}::uuid[]) AND v.keeper_id = ANY(${own}::uuid[]) AND v.valid_to IS NULL
      ORDER BY v.animal_id, v.relation, v.access_id`;
    return new Map(
      rows.map(({ animalId, ownHoldings, ownWithheld, ...row }) => [
        animalId,
        { ...row, own: { holdings: ownHoldings, lineageWithheld: ownWithheld } },
      ]),
    );
  }

  /** Guests of each animal on a day or later, first granted first. */
  async findGuests(animalIds: readonly string[], today: Day): Promise<GuestView[]> {
    return this.readGuests({ animalId: { in: [...animalIds] }, validTo: { gt: toDateColumn(today) } }, undefined);
  }

  /** A page of the animals a keeper reads as a guest on a day, with one more where there is one. */
  async pageOfGuest(keeperId: string, today: Day, first: number, after: string | null): Promise<GuestView[]> {
    const later = after === null ? {} : { id: { gt: after } };
    return this.readGuests({ keeperId, validTo: { gt: toDateColumn(today) }, ...later }, first + 1);
  }

  async findGrant(grantId: string): Promise<GuestView | null> {
    return (await this.readGuests({ id: grantId }, 1))[0] ?? null;
  }

  private async readGuests(
    where: { id?: string | { gt: string }; animalId?: { in: string[] }; keeperId?: string; validTo?: { gt: Date } },
    take: number | undefined,
  ): Promise<GuestView[]> {
    const rows = await this.database.client.animalAccess.findMany({
      where: { ...where, relation: 'guest' },
      include: {
        keeper: { select: { id: true, name: true } },
        grant: { select: { keeper: { select: { id: true, name: true } } } },
      },
      orderBy: { id: 'asc' },
      ...(take === undefined ? {} : { take }),
    });
    return rows.flatMap(({ id, animalId, keeper, grant, validFrom, validTo }) =>
      grant === null || validTo === null
        ? []
        : [
            {
              grantId: id,
              animalId,
              guest: keeper,
              grantedBy: grant.keeper,
              from: fromDateColumn(validFrom),
              until: fromDateColumn(validTo),
            },
          ],
    );
  }

  /** The relations of keepers to an animal, ever. */
  async findRelations(animalId: string): Promise<RelationPeriod[]> {
    const rows = await this.database.client.animalAccess.findMany({ where: { animalId }, orderBy: { id: 'asc' } });
    return rows.map(({ id, keeperId, relation, validFrom, validTo }) => ({
      accessId: id,
      keeperId,
      relation,
      from: fromDateColumn(validFrom),
      to: fromDateColumnOrNull(validTo),
    }));
  }

  /** Everything `whoCouldSee` is worked out from, under one view of the database. */
  async readHistory(animalId: string, relations: readonly RelationPeriod[]): Promise<SightHistory> {
    const keepers = [...new Set(relations.map(({ keeperId }) => keeperId))];
    const accessIds = relations.map(({ accessId }) => accessId);
    return this.database.client.$transaction(
      async (db) => ({
        relations,
        ...(await readSettings(db, keepers, accessIds)),
        ...(await readCircles(db, animalId, keepers)),
      }),
      { isolationLevel: 'RepeatableRead' },
    );
  }

  /** Names of keepers and clubs, by id; and the keepers that one of the viewer's gave this animal to, or let in as a guest. */
  async findNames(viewer: Viewer, animalId: string, ids: readonly string[]) {
    const own = viewer.keepers.map(({ keeperId }) => keeperId);
    const rows = await this.database.client.$queryRaw<{ id: string; name: string; known: boolean }[]>`
      SELECT c.id, c.name, true AS known FROM club c WHERE c.id = ANY(${[...ids]}::uuid[])
      UNION ALL
      SELECT k.id, k.name, k.id = ANY(${own}::uuid[])
        OR EXISTS (SELECT 1 FROM transfer t JOIN transfer_item i ON i.transfer_id = t.id
                   WHERE i.animal_id = ${animalId}::uuid AND (
                     -- Whoever took a record up with a code told the giver a name, not which keeper they are.
                     (t.to_keeper_id = k.id AND t.taken_up_at IS NULL AND t.from_keeper_id = ANY(${own}::uuid[]))
                     OR (t.from_keeper_id = k.id AND t.to_keeper_id = ANY(${own}::uuid[]))))
        OR EXISTS (SELECT 1 FROM reading_grant g JOIN animal_access a ON a.id = g.access_id
                   WHERE a.animal_id = ${animalId}::uuid AND a.keeper_id = k.id AND g.granted_by = ANY(${own}::uuid[]))
        OR EXISTS (SELECT 1 FROM ask_thread t
                   WHERE t.animal_id = ${animalId}::uuid AND t.asker_keeper_id = k.id AND t.holder_keeper_id = ANY(${own}::uuid[])
                     AND t.revealed_at IS NOT NULL)
      FROM keeper k WHERE k.id = ANY(${[...ids]}::uuid[])`;
    return new Map(rows.map(({ id, ...row }) => [id, row]));
  }
}

async function readSettings(db: Db, keepers: string[], accessIds: string[]) {
  const stays = await db.collectionStay.findMany({ where: { accessId: { in: accessIds } } });
  const settings = await db.sharingSetting.findMany({
    where: {
      OR: [
        { keeperId: { in: keepers }, collectionId: null, accessId: null },
        { collectionId: { in: stays.map(({ collectionId }) => collectionId) } },
        { accessId: { in: accessIds } },
      ],
    },
  });
  return {
    collectionStays: stays.map(({ accessId, collectionId, setAt, endedAt }) => ({
      accessId,
      collectionId,
      from: setAt,
      to: endedAt,
    })),
    settings: settings.map(({ keeperId, collectionId, accessId, holdings, lineageWithheld, setAt, endedAt }) => ({
      keeperId,
      collectionId,
      accessId,
      choice: { holdings, lineageWithheld },
      from: setAt,
      to: endedAt,
    })),
  };
}

async function readCircles(db: Db, animalId: string, keepers: string[]) {
  const members = await db.clubMember.findMany({ where: { keeperId: { in: keepers } } });
  const offices = await db.$queryRaw<{ club_id: string; keeper_id: string; valid_from: Date; valid_to: Date | null }[]>`
    SELECT DISTINCT o.club_id, k.id AS keeper_id, o.valid_from, o.valid_to
    FROM keeper k JOIN club_member m ON m.keeper_id = k.id JOIN office o ON o.club_id = m.club_id
    JOIN animal a ON a.id = ${animalId}::uuid
    WHERE k.id = ANY(${keepers}::uuid[]) AND (o.region IS NULL OR o.region = k.region) AND (o.taxon_id IS NULL OR o.taxon_id = a.taxon_id)`;
  const threads = await db.askThread.findMany({
    where: { animalId, revealedAt: { not: null } },
    select: { askerKeeperId: true, holderKeeperId: true, revealedAt: true, closedAt: true },
  });
  return {
    memberships: members.map(({ clubId, keeperId, joinedOn, leftOn }) => ({
      clubId,
      keeperId,
      joinedOn: fromDateColumn(joinedOn),
      leftOn: fromDateColumnOrNull(leftOn),
    })),
    offices: offices.map((row) => ({
      clubId: row.club_id,
      keeperId: row.keeper_id,
      from: fromDateColumn(row.valid_from),
      to: fromDateColumnOrNull(row.valid_to),
    })),
    threads: threads.flatMap(({ askerKeeperId, holderKeeperId, revealedAt, closedAt }) =>
      revealedAt === null ? [] : [{ keeperId: askerKeeperId, holderKeeperId, from: revealedAt, to: closedAt }],
    ),
  };
}

function toCollection(row: {
  id: string;
  keeperId: string;
  name: string;
  settings: readonly SharingChoice[];
}): CollectionView {
  return { id: row.id, keeperId: row.keeperId, name: row.name, choice: row.settings[0] ?? NOTHING_SET };
}
