import { v7 as uuid } from 'uuid';
import { type Viewer } from '../../kernel/index.js';
import { type Db, Prisma, type Tx } from '../../platform/prisma/index.js';

/** What is shared with the receiver of a transfer: a clutch by its first version, or what can have made a dam gravid. */
export type ShareSubject = { readonly clutchId: string } | { readonly damId: string };

/** Shares with a receiver what is recorded so far; what was shared in this transfer before is brought up to now. */
export async function shareBreeding(
  tx: Tx,
  transfer: { readonly id: string; readonly fromKeeperId: string; readonly keeperId: string },
  subjects: readonly ShareSubject[],
): Promise<void> {
  const { id: transferId, fromKeeperId, keeperId } = transfer;
  if (subjects.length === 0) return;
  const known = await tx.db.breedingShare.findMany({ where: { transferId, keeperId } });
  const isKnown = (subject: ShareSubject) =>
    known.some((row) => ('clutchId' in subject ? row.clutchId === subject.clutchId : row.damId === subject.damId));
  // A clutch is its keeper's to tell of, also when somebody who has its eggs hands them on.
  const clutches = await tx.db.clutch.findMany({
    where: { id: { in: subjects.flatMap((subject) => ('clutchId' in subject ? [subject.clutchId] : [])) } },
    select: { id: true, keeperId: true },
  });
  const teller = (subject: ShareSubject) =>
    ('clutchId' in subject ? clutches.find(({ id }) => id === subject.clutchId)?.keeperId : undefined) ?? fromKeeperId;
  const data = subjects
    .filter((subject) => !isKnown(subject))
    .map((subject) => ({
      id: uuid(),
      transferId,
      fromKeeperId: teller(subject),
      keeperId,
      ...subject,
      sharedAt: tx.now,
    }));
  await tx.db.breedingShare.createMany({ data });
  await refreshShares(tx, transferId);
}

/** What is shared in a transfer is shared as it is now. */
export async function refreshShares(tx: Tx, transferId: string): Promise<void> {
  await tx.db.breedingShare.updateMany({ where: { transferId, endedAt: null }, data: { sharedAt: tx.now } });
}

/** Nothing came of a transfer, or of some of it: those subjects are not shared any more; all when none are named. */
export async function endShares(tx: Tx, transferId: string, subjects?: readonly ShareSubject[]): Promise<void> {
  if (subjects?.length === 0) return;
  await tx.db.breedingShare.updateMany({
    where: { transferId, endedAt: null, ...(subjects === undefined ? {} : { OR: [...subjects] }) },
    data: { endedAt: tx.now },
  });
}

/** Up to when each clutch is shared with a keeper of the viewer, the latest of several; by the clutch's first version. */
export async function clutchesShared(
  db: Db,
  viewer: Viewer,
  originalIds: readonly string[],
): Promise<Map<string, Date>> {
  const rows = await db.breedingShare.findMany({
    where: {
      clutchId: { in: [...originalIds] },
      keeperId: { in: viewer.keepers.map(({ keeperId }) => keeperId) },
      endedAt: null,
    },
    orderBy: { sharedAt: 'asc' },
  });
  return new Map(rows.flatMap(({ clutchId, sharedAt }) => (clutchId === null ? [] : [[clutchId, sharedAt] as const])));
}

/** Whose records on a dam count for the viewer besides their own, and up to which moment of recording. */
export type EvidenceShare = { readonly damId: string; readonly keeperId: string; readonly until: Date };

/**
 * What earlier keepers shared of possible dams: with the dam herself, or with eggs of the clutch; also what they had from
 * those before them.
 */
export async function evidenceShared(
  db: Pick<Db, '$queryRaw'>,
  viewer: Viewer,
  damIds: readonly string[],
  clutchId: string | null,
): Promise<EvidenceShare[]> {
  const [mine, dams] = [viewer.keepers.map(({ keeperId }) => keeperId), [...damIds]];
  if (mine.length === 0 || dams.length === 0) return [];
  return db.$queryRaw<EvidenceShare[]>(Prisma.sql`
    WITH RECURSIVE shared AS (
      SELECT d.dam_id, b.from_keeper_id, b.shared_at
      FROM breeding_share b JOIN unnest(${dams}::uuid[]) AS d(dam_id) ON b.dam_id = d.dam_id OR b.clutch_id = ${clutchId}::uuid
      WHERE b.keeper_id = ANY(${mine}::uuid[]) AND b.ended_at IS NULL
      UNION
      SELECT s.dam_id, b.from_keeper_id, least(b.shared_at, s.shared_at)
      FROM shared s JOIN breeding_share b ON b.keeper_id = s.from_keeper_id AND b.dam_id = s.dam_id AND b.ended_at IS NULL
    )
    SELECT dam_id AS "damId", from_keeper_id AS "keeperId", max(shared_at) AS until
    FROM shared GROUP BY 1, 2 ORDER BY 1, 2`);
}
