import { Resolver, Subscription } from '@nestjs/graphql';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { LiveChanges, type LiveEvent } from '../../platform/live/index.js';
import { NoticeReadStore } from './notice-read.store.js';
import { NoticeStore } from './notice.store.js';
import { NoticeArrivalType, toNotice } from './notice.types.js';

@Resolver()
export class NoticeLiveResolver {
  constructor(
    private readonly live: LiveChanges,
    private readonly notices: NoticeStore,
    private readonly reads: NoticeReadStore,
  ) {}

  @Subscription(() => NoticeArrivalType, {
    description: 'Notices of the keepers you act for now, as they are written.',
    resolve: ({ row }: LiveEvent<NoticeArrivalType>): NoticeArrivalType =>
      row ?? { keeperId: null, notice: null, unread: null },
  })
  @Authorize('membership.read-own')
  async noticeArrived(@CurrentViewer() viewer: Viewer): Promise<AsyncIterable<LiveEvent<NoticeArrivalType>>> {
    const keeperIds = viewer.keepers.map(({ keeperId }) => keeperId);
    return this.live.follow(viewer, {
      about: 'notice',
      keeperIds,
      read: (now, keeperId) => this.newest(now, keeperId),
    });
  }

  /** Notices are announced by their keeper. Null for one the viewer acts for no more. */
  private async newest(viewer: Viewer, keeperId: string): Promise<NoticeArrivalType | null> {
    if (!actsFor(viewer, keeperId)) return null;
    const [newest] = await this.notices.list(keeperId, null, 1);
    if (newest === undefined) return null;
    const { accountId } = viewer;
    const unread = await this.reads.countUnread(accountId, keeperId);
    const read = await this.reads.findRead(accountId, [newest.id]);
    return { keeperId, notice: toNotice(newest, read.has(newest.id)), unread };
  }
}
