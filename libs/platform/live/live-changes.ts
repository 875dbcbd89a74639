import { setTimeout as sleep } from 'node:timers/promises';
import { Inject, Injectable, Logger } from '@nestjs/common';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { type Announcement, Announcements, type Hearer } from './announcements.js';
import { Follower } from './follower.js';
import { VIEWER_SOURCE, type ViewerSource } from './viewer-source.js';

/** Milliseconds before a change that could not be read is tried again. */
const RETRY = 1_000;

/** One event of a live query, for the viewer as they are now. `row` null: some changes may have been missed, read again. */
export type LiveEvent<T> = { readonly viewer: Viewer; readonly row: T | null };

/** What is followed, and how one change is read for a viewer: null for what they may not see, which is then not told at all. */
export type Following<T> = {
  readonly about: Exclude<Announcement['about'], 'session'>;
  readonly keeperIds: readonly string[];
  readonly read: (viewer: Viewer, id: string) => Promise<T | null>;
};

/** Hands committed changes to those who follow them, each read anew through the follower's own eyes. */
@Injectable()
export class LiveChanges implements Hearer {
  private readonly logger = new Logger('live');
  /** By what and whom they follow. */
  private readonly followers = new Map<string, Set<{ push(id: string): void; miss(): void }>>();

  constructor(
    private readonly announcements: Announcements,
    @Inject(VIEWER_SOURCE) private readonly viewers: ViewerSource,
  ) {
    announcements.add(this);
  }

  /**
   * Events until the follower leaves, the session ends, or the viewer acts for none of the keepers any more. The caller has
   * checked that they act for them now. UNAVAILABLE where the database is not listened to.
   */
  async follow<T>(
    viewer: Viewer,
    { about, keeperIds, read }: Following<T>,
  ): Promise<AsyncIterableIterator<LiveEvent<T>>> {
    await this.announcements.ready();
    const keys = keeperIds.map((keeperId) => `${about}:${keeperId}`);
    const follower: Follower<LiveEvent<T>> = new Follower(
      async ({ ids, missed }) => {
        try {
          const now = await this.viewers.again(viewer);
          if (now === null || !keeperIds.some((keeperId) => actsFor(now, keeperId))) return null;
          const rows = await Promise.all(ids.map((id) => read(now, id)));
          const events = rows.flatMap((row) => (row === null ? [] : [{ viewer: now, row }]));
          return missed ? [{ viewer: now, row: null }, ...events] : events;
        } catch (error) {
          // The database is away for a moment: what was to be read counts as missed, and is not asked for in a hurry.
          this.logger.warn(`a change could not be read: ${(error as Error).message}`);
          await sleep(RETRY);
          follower.miss();
          return [];
        }
      },
      () => {
        for (const key of keys) this.leave(key, follower);
      },
    );
    for (const key of keys) this.followers.set(key, (this.followers.get(key) ?? new Set()).add(follower));
    return follower;
  }

  heard({ about, id, keepers }: Announcement): void {
    for (const keeperId of keepers) {
      for (const follower of this.followers.get(`${about}:${keeperId}`) ?? []) follower.push(id);
    }
  }

  gap(): void {
    for (const group of this.followers.values()) for (const follower of group) follower.miss();
  }

  private leave(key: string, follower: { push(id: string): void; miss(): void }): void {
    const group = this.followers.get(key);
    group?.delete(follower);
    if (group?.size === 0) this.followers.delete(key);
  }
}
