import { Args, Field, ID, ObjectType, Resolver, Subscription } from '@nestjs/graphql';
import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { LiveChanges, type LiveEvent } from '../../platform/live/index.js';
import { ThreadReadStore, type ThreadView } from '../store/thread-read.store.js';
import { toThread, ThreadType } from './thread.types.js';

@ObjectType('ThreadChange')
export class ThreadChangeType {
  @Field(() => ThreadType, {
    nullable: true,
    description: 'The thread as it is now. Null: some changes may have been missed; read the list again.',
  })
  thread!: ThreadType | null;
}

@Resolver()
export class ThreadLiveResolver {
  constructor(
    private readonly live: LiveChanges,
    private readonly threads: ThreadReadStore,
  ) {}

  @Subscription(() => ThreadChangeType, {
    description: 'Threads of an own keeper, as soon as one is opened, written in or closed, or names are shown.',
    resolve: ({ row }: LiveEvent<ThreadView>): ThreadChangeType => ({ thread: row === null ? null : toThread(row) }),
  })
  @Authorize('matching.read-threads')
  async threadChanged(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
  ): Promise<AsyncIterable<LiveEvent<ThreadView>>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const read = (now: Viewer, id: string) => this.threads.find(now, id);
    return this.live.follow(viewer, { about: 'thread', keeperIds: [keeperId], read });
  }
}
