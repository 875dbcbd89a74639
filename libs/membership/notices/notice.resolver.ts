import { Args, ID, Int, Mutation, Query, Resolver } from '@nestjs/graphql';
import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  momentAfter,
  type Page,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { MailStore, type MomentKey } from './mail.store.js';
import { ChooseMails, chooseMailsCommand } from './choose-mails.js';
import { MarkNoticesRead, markNoticesReadCommand } from './mark-notices-read.js';
import { allChoices, type MailPace, type NoticeGroup } from './notice-group.core.js';
import { MailChoiceStore } from './mail-choice.store.js';
import { NoticeReadStore } from './notice-read.store.js';
import { NoticeStore } from './notice.store.js';
import {
  ChooseMailsInput,
  ChooseMailsPayload,
  MailChoiceType,
  MailConnection,
  MailPaceType,
  MailType,
  MarkNoticesReadInput,
  MarkNoticesReadPayload,
  NoticeConnection,
  NoticeGroupType,
  type NoticeType,
  toNotice,
} from './notice.types.js';

const cursorOf = (row: MomentKey): string[] => [row.createdAt.toISOString(), row.id];

@Resolver()
export class NoticeResolver {
  constructor(
    private readonly notices: NoticeStore,
    private readonly mails: MailStore,
    private readonly reads: NoticeReadStore,
    private readonly markRead: MarkNoticesRead,
    private readonly choices: MailChoiceStore,
    private readonly choose: ChooseMails,
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
    const ids = rows.map(({ id }) => id);
    const read = await this.reads.findRead(viewer.accountId, ids);
    return toConnection(rows, page.first, cursorOf, (row) => toNotice(row, read.has(row.id)));
  }

  @Query(() => Int, { description: 'Notices of an own keeper that your account has not read; 1,000 stands for more.' })
  @Authorize('membership.read-own')
  async unreadNotices(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
  ): Promise<number> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    return this.reads.countUnread(viewer.accountId, keeperId);
  }

  @Mutation(() => MarkNoticesReadPayload, { description: 'Says that your account has read notices.' })
  @Authorize('membership.mark-notices-read')
  async markNoticesRead(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: MarkNoticesReadInput,
  ): Promise<MarkNoticesReadPayload> {
    const { keeperId } = await this.markRead.execute(viewer, parseInput(markNoticesReadCommand, input));
    return { keeperId, unread: await this.reads.countUnread(viewer.accountId, keeperId) };
  }

  @Query(() => [MailChoiceType], {
    description:
      'By which mails your account hears of each group of notices. Account mails, and word of a theft, always come.',
  })
  @Authorize('membership.read-own')
  async mailChoices(@CurrentViewer() viewer: Viewer): Promise<MailChoiceType[]> {
    return toChoices(await this.choices.find(viewer.accountId));
  }

  @Mutation(() => ChooseMailsPayload, { description: 'Says by which mails your account hears of groups of notices.' })
  @Authorize('membership.choose-mails')
  async chooseMails(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ChooseMailsInput,
  ): Promise<ChooseMailsPayload> {
    const { accountId } = await this.choose.execute(viewer, parseInput(chooseMailsCommand, input));
    return { mailChoices: toChoices(await this.choices.find(accountId)) };
  }

  @Query(() => MailConnection, { description: 'Mails to the own account, newest first.' })
  @Authorize('membership.read-own')
  async mailOutbox(@CurrentViewer() viewer: Viewer, @Args() args: PageArgs): Promise<ConnectionOf<MailType>> {
    const page = toPage(args, 2);
    const rows = await this.mails.list(viewer.accountId, keyOf(page), page.first + 1);
    return toConnection(rows, page.first, cursorOf, (row) => row);
  }
}

function toChoices(chosen: ReadonlyMap<NoticeGroup, MailPace>): MailChoiceType[] {
  return allChoices(chosen).map(({ group, pace }) => ({ group: NoticeGroupType[group], pace: MailPaceType[pace] }));
}

function keyOf(page: Page): MomentKey | null {
  const key = momentAfter(page.after);
  return key === null ? null : { createdAt: key.at, id: key.id };
}
