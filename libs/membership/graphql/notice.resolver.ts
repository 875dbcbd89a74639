import { Args, ID, Query, Resolver } from '@nestjs/graphql';
import { actsFor, dayOf, invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  momentCursor,
  type Page,
  PageArgs,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { MailStore, type MomentKey } from '../store/mail.store.js';
import { noticeMail } from '../core/notice-mail.core.js';
import { NoticeStore } from '../store/notice.store.js';
import { MailConnection, MailType, NoticeConnection, NoticeType } from './notice.types.js';

const cursorOf = (row: MomentKey): string[] => [row.createdAt.toISOString(), row.id];

@Resolver()
export class NoticeResolver {
  constructor(
    private readonly notices: NoticeStore,
    private readonly mails: MailStore,
  ) {}

  @Query(() => NoticeConnection, { name: 'notices', description: 'Notices of an own keeper, newest first.' })
  @Authorize('membership.read-own')
  async noticesOf(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<NoticeType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 2);
    const rows = await this.notices.list(keeperId, keyOf(page), page.first + 1);
    return toConnection(rows, page.first, cursorOf, (row) => ({
      ...row,
      // Said as on the day it was written, like its mail.
      subject: noticeMail(row, dayOf(row.createdAt)).subject.replace(/^Kithbook: /, ''),
      body: JSON.stringify(row.body),
    }));
  }

  @Query(() => MailConnection, { description: 'Mails to the own account, newest first.' })
  @Authorize('membership.read-own')
  async mailOutbox(@CurrentViewer() viewer: Viewer, @Args() args: PageArgs): Promise<ConnectionOf<MailType>> {
    const page = toPage(args, 2);
    const rows = await this.mails.list(viewer.accountId, keyOf(page), page.first + 1);
    return toConnection(rows, page.first, cursorOf, (row) => row);
  }
}

function keyOf(page: Page): MomentKey | null {
  if (page.after === null) return null;
  const key = momentCursor.safeParse(page.after);
  if (key.success) return { createdAt: new Date(key.data[0]), id: key.data[1] };
  throw invalidInput([
    {
      path: 'after',
      message: 'This is not a cursor of this list.',
      remedy: 'Use `endCursor` of the page before, or leave it out.',
    },
  ]);
}
