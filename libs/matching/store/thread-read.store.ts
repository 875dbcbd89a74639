import { Injectable } from '@nestjs/common';
import { type Viewer } from '../../kernel/index.js';
import { Database, Prisma } from '../../platform/prisma/index.js';
import { speakingKeepers } from './guardian-speaks.js';
import { FEWEST_MEMBERS, type ThreadSide } from '../core/thread.core.js';

/** A thread as one of its two sides reads it. */
export type ThreadView = {
  readonly id: string;
  readonly animalId: string;
  readonly aboutAnimalId: string | null;
  /** The side the viewer is on. */
  readonly side: ThreadSide;
  /** Name and id of the other side's keeper; null until the holder has shown both names. */
  readonly otherName: string | null;
  readonly otherKeeperId: string | null;
  /** The two are in one club that is large enough not to say which of its members it is. */
  readonly sameClub: boolean;
  readonly openedAt: Date;
  readonly lastMessageAt: Date;
  readonly revealedAt: Date | null;
  readonly closedAt: Date | null;
  readonly closedBy: ThreadSide | null;
  /** Messages of the other side that were not read yet. */
  readonly unread: number;
};

/** A message of a thread. */
export type StoredMessage = {
  readonly id: string;
  readonly side: ThreadSide;
  readonly text: string;
  readonly sentAt: Date;
};

/** The last row of a page. */
export type ThreadKey = { readonly at: Date; readonly id: string };

/** Reads threads for their two sides and nobody else; the other side's name leaves the database only once both are shown. */
@Injectable()
export class ThreadReadStore {
  constructor(private readonly database: Database) {}

  /** The thread, or null where no keeper for which the viewer speaks is a side of it. */
  async find(viewer: Viewer, id: string): Promise<ThreadView | null> {
    return (await this.read(viewer, Prisma.sql`AND t.id = ${id}::uuid`, 1))[0] ?? null;
  }

  /** A page of the viewer's threads, the one last written in first, with one more than asked where there is one. */
  async page(viewer: Viewer, first: number, after: ThreadKey | null): Promise<ThreadView[]> {
    const where =
      after === null
        ? Prisma.empty
        : Prisma.sql`AND (t.last_message_at, t.id) < (${after.at}::timestamptz, ${after.id}::uuid)`;
    return this.read(viewer, where, first + 1);
  }

  /** Messages of others in the viewer's threads that were not read yet. */
  async countUnread(viewer: Viewer): Promise<number> {
    const own = speakingKeepers(viewer);
    const [row] = await this.database.client.$queryRaw<{ unread: number }[]>`
      SELECT coalesce(sum(u.unread), 0)::int AS unread FROM ask_thread t
      CROSS JOIN LATERAL (SELECT CASE WHEN t.asker_keeper_id = ANY(${own}::uuid[]) THEN 'asker' ELSE 'holder' END AS side) s
      CROSS JOIN LATERAL ${UNREAD} u
      WHERE t.asker_keeper_id = ANY(${own}::uuid[]) OR t.holder_keeper_id = ANY(${own}::uuid[])`;
    return row?.unread ?? 0;
  }

  /** A page of the messages of a thread, oldest first. The caller has found the thread for its viewer. */
  async messages(threadId: string, first: number, after: ThreadKey | null): Promise<StoredMessage[]> {
    return this.database.client.askMessage.findMany({
      where: {
        threadId,
        ...(after === null ? {} : { OR: [{ sentAt: { gt: after.at } }, { sentAt: after.at, id: { gt: after.id } }] }),
      },
      orderBy: [{ sentAt: 'asc' }, { id: 'asc' }],
      take: first + 1,
      select: { id: true, side: true, text: true, sentAt: true },
    });
  }

  private async read(viewer: Viewer, where: Prisma.Sql, limit: number): Promise<ThreadView[]> {
    const own = speakingKeepers(viewer);
    return this.database.client.$queryRaw<ThreadView[]>`
      SELECT t.id, t.animal_id AS "animalId", t.about_animal_id AS "aboutAnimalId", s.side,
             CASE WHEN t.revealed_at IS NOT NULL THEN o.name END AS "otherName",
             CASE WHEN t.revealed_at IS NOT NULL THEN o.id END AS "otherKeeperId",
             EXISTS (SELECT 1 FROM club_member a JOIN club_member b ON b.club_id = a.club_id AND b.left_on IS NULL
                     WHERE a.keeper_id = t.asker_keeper_id AND b.keeper_id = t.holder_keeper_id AND a.left_on IS NULL
                       AND ${FEWEST_MEMBERS} <= (SELECT count(*) FROM club_member c
                                                 WHERE c.club_id = a.club_id AND c.left_on IS NULL)) AS "sameClub",
             t.opened_at AS "openedAt", t.last_message_at AS "lastMessageAt", t.revealed_at AS "revealedAt",
             t.closed_at AS "closedAt", t.closed_by::text AS "closedBy", u.unread
      FROM ask_thread t
      CROSS JOIN LATERAL (SELECT CASE WHEN t.asker_keeper_id = ANY(${own}::uuid[]) THEN 'asker' ELSE 'holder' END AS side) s
      JOIN keeper o ON o.id = CASE s.side WHEN 'asker' THEN t.holder_keeper_id ELSE t.asker_keeper_id END
      CROSS JOIN LATERAL ${UNREAD} u
      WHERE (t.asker_keeper_id = ANY(${own}::uuid[]) OR t.holder_keeper_id = ANY(${own}::uuid[])) ${where}
      ORDER BY t.last_message_at DESC, t.id DESC LIMIT ${limit}`;
  }
}

const UNREAD = Prisma.sql`(
  SELECT count(*)::int AS unread FROM ask_message m
  WHERE m.thread_id = t.id AND m.side::text <> s.side
    AND m.sent_at > coalesce(CASE s.side WHEN 'asker' THEN t.asker_read_at ELSE t.holder_read_at END, '-infinity'))`;
