import { Args, Field, ID, ObjectType, Resolver, Subscription } from '@nestjs/graphql';
import { actsFor, DomainError, notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { LiveChanges, type LiveEvent } from '../../platform/live/index.js';
import { TransferStore, type VisibleTransfer } from '../store/transfer.store.js';
import { toTransferType, TransferType } from './transfer.types.js';

@ObjectType('TransferChange')
export class TransferChangeType {
  @Field(() => TransferType, {
    nullable: true,
    description: 'The transfer as it is now. Null: some changes may have been missed; read the list again.',
  })
  transfer!: TransferType | null;
}

@Resolver()
export class TransferLiveResolver {
  constructor(
    private readonly live: LiveChanges,
    private readonly transfers: TransferStore,
  ) {}

  @Subscription(() => TransferChangeType, {
    description: 'Transfers of an own keeper, as soon as either side or the clock has moved them.',
    resolve: ({ viewer, row }: LiveEvent<VisibleTransfer>): TransferChangeType => ({
      transfer: row === null ? null : toTransferType(viewer, row),
    }),
  })
  @Authorize('transfer.read')
  async transferChanged(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
  ): Promise<AsyncIterable<LiveEvent<VisibleTransfer>>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const read = (now: Viewer, id: string) => this.transfers.getVisible(now, id).catch(nullIfHidden);
    return this.live.follow(viewer, { about: 'transfer', keeperIds: [keeperId], read });
  }
}

function nullIfHidden(error: unknown): null {
  if (error instanceof DomainError && error.code === 'NOT_FOUND') return null;
  throw error;
}
