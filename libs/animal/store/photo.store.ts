import { v7 as uuid } from 'uuid';
import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Db, type Tx } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type PhotoComparison, type PhotoSession, type PhotoVerdict } from '../core/photo.core.js';

/** A session in force with the comparisons in force that hold it against earlier ones. */
export type StoredSession = PhotoSession & {
  readonly markId: string;
  readonly recordedAt: Date;
  /** The pictures it consists of, as files of the animal. */
  readonly fileIds: readonly string[];
  readonly comparisons: readonly (PhotoComparison & { readonly recordedAt: Date })[];
};

/**
 * The sessions of each mark, by day; for a past holder (`until`) those recorded by then. Several moments may be asked at once:
 * the caller cuts by `recordedAt`.
 */
export async function findSessions(
  db: Pick<Db, 'photoSession'>,
  markIds: readonly string[],
): Promise<Map<string, StoredSession[]>> {
  const rows = await db.photoSession.findMany({
    where: { markId: { in: [...markIds] }, supersededAt: null },
    include: {
      asLater: { where: { supersededAt: null }, orderBy: { id: 'asc' } },
      pictures: { select: { fileId: true }, orderBy: { fileId: 'asc' } },
    },
    orderBy: [{ takenOn: 'asc' }, { id: 'asc' }],
  });
  return groupRows(
    rows.map(({ asLater, pictures, takenOn, id, markId, recordedAt }) => ({
      id,
      markId,
      recordedAt,
      takenOn: fromDateColumn(takenOn),
      fileIds: pictures.map(({ fileId }) => fileId),
      comparisons: asLater,
    })),
    (session) => session.markId,
  );
}

/** The mark a session in force belongs to, and its day; null when there is none. */
export async function findSession(tx: Tx, sessionId: string): Promise<(PhotoSession & { markId: string }) | null> {
  const row = await tx.db.photoSession.findFirst({ where: { id: sessionId, supersededAt: null } });
  return row === null ? null : { id: row.id, markId: row.markId, takenOn: fromDateColumn(row.takenOn) };
}

/** Adds a session to a mark of a locked animal. Gives its id. */
export async function insertSession(
  tx: Tx,
  session: {
    readonly markId: string;
    readonly takenOn: Day;
    readonly keeperId: string;
    readonly fileIds: readonly string[];
  },
): Promise<string> {
  const id = uuid();
  await tx.db.photoSession.create({
    data: {
      id,
      markId: session.markId,
      takenOn: toDateColumn(session.takenOn),
      keeperId: session.keeperId,
      recordedAt: tx.now,
      recordedBy: tx.actorId ?? session.keeperId,
      pictures: { create: session.fileIds.map((fileId) => ({ fileId })) },
    },
  });
  return id;
}

/** Takes a session back, with the comparisons it is in. */
export async function supersedeSession(tx: Tx, sessionId: string, reason: string): Promise<void> {
  await tx.db.photoSession.update({ where: { id: sessionId }, data: { supersededAt: tx.now, reason } });
  await tx.db.photoComparison.updateMany({
    where: { supersededAt: null, OR: [{ sessionId }, { earlierSessionId: sessionId }] },
    data: { supersededAt: tx.now },
  });
}

/** Records one person's verdict on two sessions; an earlier one of the same person is superseded. */
export async function insertComparison(
  tx: Tx,
  said: {
    readonly sessionId: string;
    readonly earlierSessionId: string;
    readonly verdict: PhotoVerdict;
    readonly keeperId: string;
    readonly accountId: string;
  },
): Promise<void> {
  const { sessionId, earlierSessionId, verdict, keeperId, accountId: confirmedBy } = said;
  await tx.db.photoComparison.updateMany({
    where: { sessionId, earlierSessionId, confirmedBy, supersededAt: null },
    data: { supersededAt: tx.now },
  });
  await tx.db.photoComparison.create({
    data: { id: uuid(), sessionId, earlierSessionId, verdict, confirmedBy, keeperId, recordedAt: tx.now },
  });
}
