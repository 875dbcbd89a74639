import { Args, ID, Int, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { isId, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  momentAfter,
  type Page,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { AnswerThread, answerThreadCommand } from '../app/answer-thread.js';
import { AskHolder, askHolderCommand } from '../app/ask-holder.js';
import { CloseThread, closeThreadCommand } from '../app/close-thread.js';
import { MarkThreadRead, markThreadReadCommand } from '../app/mark-thread-read.js';
import { type ThreadKey, ThreadReadStore } from '../store/thread-read.store.js';
import {
  AnswerThreadInput,
  AnswerThreadPayload,
  AskHolderInput,
  AskHolderPayload,
  CloseThreadInput,
  CloseThreadPayload,
  MarkThreadReadInput,
  MarkThreadReadPayload,
  ThreadConnection,
  ThreadMessageConnection,
  type ThreadMessageType,
  ThreadType,
  toThread,
} from './thread.types.js';

@Resolver(() => ThreadType)
export class ThreadResolver {
  constructor(
    private readonly threadStore: ThreadReadStore,
    private readonly animals: AnimalReadStore,
    private readonly ask: AskHolder,
    private readonly answer: AnswerThread,
    private readonly close: CloseThread,
    private readonly read: MarkThreadRead,
  ) {}

  @Query(() => ThreadConnection, { description: 'Threads of your keepers, as either side; last written in first.' })
  @Authorize('matching.read-threads')
  async threads(@CurrentViewer() viewer: Viewer, @Args() args: PageArgs): Promise<ConnectionOf<ThreadType>> {
    const page = toPage(args, 2);
    const rows = await this.threadStore.page(viewer, page.first, keyOf(page));
    return toConnection(rows, page.first, (row) => [row.lastMessageAt.toISOString(), row.id], toThread);
  }

  @Query(() => ThreadType, { description: 'A thread of one of your keepers.' })
  @Authorize('matching.read-threads')
  thread(@CurrentViewer() viewer: Viewer, @Args('id', { type: () => ID }) id: string): Promise<ThreadType> {
    return this.get(viewer, id);
  }

  @Query(() => Int, { description: 'Messages to your keepers, in all threads, that were not read yet.' })
  @Authorize('matching.read-threads')
  unreadThreadMessages(@CurrentViewer() viewer: Viewer): Promise<number> {
    return this.threadStore.countUnread(viewer);
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description: 'The animal that was asked about; null where you do not see it any more.',
  })
  async animal(
    @Parent() { view }: ThreadType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.show(loaders, viewer, view.animalId);
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description:
      'The asker’s own animal; for the other side null until both names are shown, and where they do not see it.',
  })
  async aboutAnimal(
    @Parent() { view }: ThreadType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const shown = view.side === 'asker' || view.revealedAt !== null;
    return view.aboutAnimalId === null || !shown ? null : this.show(loaders, viewer, view.aboutAnimalId);
  }

  @ResolveField(() => ThreadMessageConnection, { description: 'Oldest first.' })
  async messages(@Parent() { view }: ThreadType, @Args() args: PageArgs): Promise<ConnectionOf<ThreadMessageType>> {
    const page = toPage(args, 2);
    const rows = await this.threadStore.messages(view.id, page.first, keyOf(page));
    return toConnection(
      rows,
      page.first,
      (row) => [row.sentAt.toISOString(), row.id],
      ({ id, side, text, sentAt }) => ({ id, text, sentAt, mine: side === view.side }),
    );
  }

  @Mutation(() => AskHolderPayload, {
    description:
      'Asks whoever has an animal. You are not named until they answer and show both names; by asking you agree to that. At most 20 a day.',
  })
  @Authorize('matching.ask-holder')
  async askHolder(@CurrentViewer() viewer: Viewer, @Args('input') input: AskHolderInput): Promise<AskHolderPayload> {
    const { threadId } = await this.ask.execute(viewer, parseInput(askHolderCommand, input));
    return { thread: await this.get(viewer, threadId) };
  }

  @Mutation(() => AnswerThreadPayload, { description: 'Writes to the other side of a thread.' })
  @Authorize('matching.answer-thread')
  async answerThread(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AnswerThreadInput,
  ): Promise<AnswerThreadPayload> {
    const { threadId } = await this.answer.execute(viewer, parseInput(answerThreadCommand, input));
    return { thread: await this.get(viewer, threadId) };
  }

  @Mutation(() => CloseThreadPayload, {
    description:
      'Ends a thread. When the keeper who was asked does so, the asker cannot ask about that animal again for 30 days.',
  })
  @Authorize('matching.close-thread')
  async closeThread(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CloseThreadInput,
  ): Promise<CloseThreadPayload> {
    const { threadId } = await this.close.execute(viewer, parseInput(closeThreadCommand, input));
    return { thread: await this.get(viewer, threadId) };
  }

  @Mutation(() => MarkThreadReadPayload, {
    description: 'Says that you have read a thread; the other side does not learn of it.',
  })
  @Authorize('matching.read-threads')
  async markThreadRead(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: MarkThreadReadInput,
  ): Promise<MarkThreadReadPayload> {
    const { threadId } = await this.read.execute(viewer, parseInput(markThreadReadCommand, input));
    return { thread: await this.get(viewer, threadId) };
  }

  private async get(viewer: Viewer, id: string): Promise<ThreadType> {
    const view = isId(id) ? await this.threadStore.find(viewer, id) : null;
    if (view === null) throw notFound('thread');
    return toThread(view);
  }

  private async show(loaders: RequestLoaders, viewer: Viewer, id: string): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, id);
    return view === null ? null : toAnimalType(view);
  }
}

function keyOf(page: Page): ThreadKey | null {
  return momentAfter(page.after);
}
