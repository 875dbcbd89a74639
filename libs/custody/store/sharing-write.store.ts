import { v7 as uuid } from 'uuid';
import { type Audience, type SharingChoice, toDateColumn } from '../../access/index.js';
import { addDays, type Day, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** A named part of what a keeper has. */
export type StoredCollection = { readonly id: string; readonly keeperId: string; readonly name: string };

/** A stay or a share of a keeper that sharing can be set for: its access row. */
export type OwnAccess = { readonly id: string; readonly animalId: string; readonly relation: 'holder' | 'owner' };

/** What is shared is decided by an owner of the keeper. Throws NOT_FOUND for a keeper of others, FORBIDDEN for a helper. */
export function requireOwner(viewer: Viewer, keeperId: string, what: string): void {
  if (!viewer.keepers.some((keeper) => keeper.keeperId === keeperId)) throw notFound(what);
  if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper decides what others see.');
}

/** Lets one at a time change what a keeper shares; taken after the locks on animals. */
export async function lockSharing(tx: Tx, keeperId: string): Promise<void> {
  await tx.db.$queryRaw`SELECT id FROM keeper WHERE id = ${keeperId}::uuid FOR NO KEY UPDATE`;
}

/** A collection of a keeper the viewer acts for. Throws as `requireOwner`. */
export async function requireCollection(tx: Tx, viewer: Viewer, id: string): Promise<StoredCollection> {
  const row = await tx.db.collection.findUnique({ where: { id } });
  if (row === null) throw notFound('collection');
  requireOwner(viewer, row.keeperId, 'collection');
  return { id: row.id, keeperId: row.keeperId, name: row.name };
}

/** Opens a collection. The name is free: `collection_name_once` has the last word. Gives its id. */
export async function insertCollection(tx: Tx, collection: { keeperId: string; name: string }): Promise<string> {
  const id = uuid();
  await tx.db.collection.create({
    data: { id, ...collection, openedAt: tx.now, openedBy: tx.actorId ?? collection.keeperId },
  });
  return id;
}

export async function renameCollection(tx: Tx, id: string, name: string): Promise<void> {
  await tx.db.collection.update({ where: { id }, data: { name } });
}

/** The relations in force by which a keeper has or owns locked animals. */
export async function findOwnAccess(tx: Tx, keeperId: string, animalIds: readonly string[]): Promise<OwnAccess[]> {
  const rows = await tx.db.animalAccess.findMany({
    where: { keeperId, animalId: { in: [...animalIds] }, relation: { in: ['holder', 'owner'] }, validTo: null },
    select: { id: true, animalId: true, relation: true },
    orderBy: { id: 'asc' },
  });
  return rows.flatMap(({ id, animalId, relation }) =>
    relation === 'holder' || relation === 'owner' ? [{ id, animalId, relation }] : [],
  );
}

/** Puts animals, named by the access rows of their holder, into a collection or into none, and lets what is set for it hold. */
export async function moveStays(tx: Tx, accessIds: readonly string[], collectionId: string | null): Promise<void> {
  const stays = await tx.db.collectionStay.findMany({
    where: { accessId: { in: [...accessIds] }, endedAt: null },
    select: { accessId: true, collectionId: true },
  });
  const there = new Set(stays.flatMap((stay) => (stay.collectionId === collectionId ? [stay.accessId] : [])));
  const going = accessIds.filter((id) => !there.has(id));
  await tx.db.collectionStay.updateMany({
    where: { accessId: { in: going }, endedAt: null },
    data: { endedAt: tx.now },
  });
  if (collectionId !== null)
    await tx.db.collectionStay.createMany({
      data: going.map((accessId) => ({ id: uuid(), accessId, collectionId, setAt: tx.now, setBy: tx.actorId })),
    });
  await applySharing(tx, going);
}

/** Sets what a keeper shows of a collection; a choice that leaves all to the level above takes back what was set. */
export async function setCollectionChoice(
  tx: Tx,
  { id: collectionId, keeperId }: StoredCollection,
  choice: SharingChoice,
): Promise<void> {
  await tx.db.sharingSetting.updateMany({ where: { collectionId, endedAt: null }, data: { endedAt: tx.now } });
  if (saysSomething(choice)) await insertSettings(tx, [{ keeperId, collectionId, ...choice }]);
  const stays = await tx.db.collectionStay.findMany({
    where: { collectionId, endedAt: null, access: { validTo: null } },
    select: { accessId: true },
  });
  await applySharing(
    tx,
    stays.map(({ accessId }) => accessId),
  );
}

/** The same for animals a keeper has or owns. Who only owns one can withhold its lineage; who sees where it is, is its holder's. */
export async function setAnimalChoice(
  tx: Tx,
  keeperId: string,
  relations: readonly OwnAccess[],
  choice: SharingChoice,
): Promise<void> {
  const ids = relations.map(({ id }) => id);
  await tx.db.sharingSetting.updateMany({ where: { accessId: { in: ids }, endedAt: null }, data: { endedAt: tx.now } });
  const settings = relations.map(({ id, relation }) => ({
    keeperId,
    accessId: id,
    holdings: relation === 'holder' ? choice.holdings : null,
    lineageWithheld: choice.lineageWithheld,
  }));
  await insertSettings(tx, settings.filter(saysSomething));
  await applySharing(tx, ids);
}

/**
 * What came out of a lot is shown as the lot was: it is in the same collection, with the same settings of its holder and owners.
 * Otherwise a part of what is hidden would be seen the moment it is taken out.
 */
export async function inheritSharing(tx: Tx, fromId: string, toIds: readonly string[]): Promise<void> {
  const [lot] = await tx.db.$queryRaw<{ set: boolean }[]>`
    SELECT EXISTS (SELECT 1 FROM animal_access a JOIN collection_stay c ON c.access_id = a.id AND c.ended_at IS NULL
                   WHERE a.animal_id = ${fromId}::uuid AND a.valid_to IS NULL)
        OR EXISTS (SELECT 1 FROM animal_access a JOIN sharing_setting s ON s.access_id = a.id AND s.ended_at IS NULL
                   WHERE a.animal_id = ${fromId}::uuid AND a.valid_to IS NULL) AS set`;
  if (lot?.set !== true) return;
  const relations = await tx.db.animalAccess.findMany({
    where: { animalId: { in: [fromId, ...toIds] }, relation: { in: ['holder', 'owner'] }, validTo: null },
    select: { id: true, animalId: true, keeperId: true, relation: true },
  });
  for (const keeperId of [...new Set(relations.map((row) => row.keeperId))].toSorted()) await lockSharing(tx, keeperId);
  const pairs = relations
    .filter(({ animalId }) => animalId === fromId)
    .flatMap((old) =>
      relations
        .filter((row) => row.animalId !== fromId && row.keeperId === old.keeperId && row.relation === old.relation)
        .map((row) => ({ from: old.id, to: row.id })),
    );
  const [from, to] = [pairs.map((pair) => pair.from), pairs.map((pair) => pair.to)];
  const actor = tx.actorId;
  await tx.db.$executeRaw`
    INSERT INTO collection_stay (id, collection_id, access_id, set_at, set_by)
    SELECT gen_random_uuid(), c.collection_id, p.new_id, ${tx.now}, ${actor}::uuid
    FROM unnest(${from}::uuid[], ${to}::uuid[]) AS p(old_id, new_id)
    JOIN collection_stay c ON c.access_id = p.old_id AND c.ended_at IS NULL`;
  await tx.db.$executeRaw`
    INSERT INTO sharing_setting (id, keeper_id, access_id, holdings, lineage_withheld, set_at, set_by)
    SELECT gen_random_uuid(), s.keeper_id, p.new_id, s.holdings, s.lineage_withheld, ${tx.now}, ${actor}::uuid
    FROM unnest(${from}::uuid[], ${to}::uuid[]) AS p(old_id, new_id)
    JOIN sharing_setting s ON s.access_id = p.old_id AND s.ended_at IS NULL`;
  await applySharing(tx, to);
}

/** Lets a guest read an animal from today until the end of `until`. Gives the id of the grant. */
export async function insertGuest(
  tx: Tx,
  grant: { animalId: string; keeperId: string; grantedBy: string; until: Day },
): Promise<string> {
  const id = uuid();
  const { animalId, keeperId, grantedBy, until } = grant;
  const days = { validFrom: toDateColumn(tx.today), validTo: toDateColumn(addDays(until, 1)) };
  await tx.db.animalAccess.create({ data: { id, animalId, keeperId, relation: 'guest', ...days } });
  await tx.db.readingGrant.create({
    data: { accessId: id, grantedBy, grantedAt: tx.now, setBy: tx.actorId, until: toDateColumn(until) },
  });
  return id;
}

/** Whether a keeper reads an animal as a guest on or after a day. */
export async function isGuest(tx: Tx, animalId: string, keeperId: string, on: Day): Promise<boolean> {
  const row = await tx.db.animalAccess.findFirst({
    where: { animalId, keeperId, relation: 'guest', validTo: { gt: toDateColumn(on) } },
    select: { id: true },
  });
  return row !== null;
}

/** The animal of a grant, unlocked; null where there is none. */
export async function findGrantAnimal(tx: Tx, grantId: string): Promise<string | null> {
  const row = await tx.db.animalAccess.findFirst({
    where: { id: grantId, relation: 'guest' },
    select: { animalId: true },
  });
  return row?.animalId ?? null;
}

/** A grant of a locked animal: who granted it to whom, and whether it still runs. */
export async function getGrant(tx: Tx, grantId: string) {
  const { access, ...grant } = await tx.db.readingGrant.findUniqueOrThrow({
    where: { accessId: grantId },
    include: { access: { select: { keeperId: true, validTo: true } } },
  });
  const runs = grant.endedAt === null && access.validTo !== null && access.validTo > toDateColumn(tx.today);
  return { grantedBy: grant.grantedBy, keeperId: access.keeperId, runs };
}

/** The guest reads nothing more from now on. */
export async function endGuest(tx: Tx, grantId: string): Promise<void> {
  await tx.db.animalAccess.update({ where: { id: grantId }, data: { validTo: toDateColumn(tx.today) } });
  await tx.db.readingGrant.update({ where: { accessId: grantId }, data: { endedAt: tx.now } });
}

function saysSomething({ holdings, lineageWithheld }: SharingChoice): boolean {
  return holdings !== null || lineageWithheld;
}

type NewSetting = {
  keeperId: string;
  collectionId?: string;
  accessId?: string;
  holdings: Audience | null;
  lineageWithheld: boolean;
};

async function insertSettings(tx: Tx, settings: readonly NewSetting[]): Promise<void> {
  await tx.db.sharingSetting.createMany({
    data: settings.map((setting) => ({ id: uuid(), ...setting, setAt: tx.now, setBy: tx.actorId })),
  });
}

/** Brings what `access_sharing` reads into step with the settings in force, for relations in force. */
async function applySharing(tx: Tx, accessIds: readonly string[]): Promise<void> {
  await tx.db.$executeRaw`
    UPDATE animal_access a SET holdings = r.holdings, lineage_withheld = r.withheld
    FROM (
      SELECT x.id, coalesce(s.holdings, c.holdings) AS holdings,
             coalesce(s.lineage_withheld, false) OR coalesce(c.lineage_withheld, false) AS withheld
      FROM animal_access x
      LEFT JOIN sharing_setting s ON s.access_id = x.id AND s.ended_at IS NULL
      LEFT JOIN collection_stay t ON t.access_id = x.id AND t.ended_at IS NULL
      LEFT JOIN sharing_setting c ON c.collection_id = t.collection_id AND c.ended_at IS NULL
      WHERE x.id = ANY(${[...accessIds]}::uuid[]) AND x.valid_to IS NULL) r
    WHERE a.id = r.id AND (a.holdings, a.lineage_withheld) IS DISTINCT FROM (r.holdings, r.withheld)`;
}
