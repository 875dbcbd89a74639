import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { offerCommand, OfferTransfer } from '../app/offer-transfer.js';
import { takeUpCommand, TakeUpTransfer } from '../app/take-up-transfer.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  OfferTransferInput,
  OfferTransferPayload,
  TakeUpTransferInput,
  TakeUpTransferPayload,
} from './transfer.inputs.js';
import { toTransferType } from './transfer.types.js';

/** How a transfer begins, and how somebody without an account comes aboard later. */
@Resolver()
export class OfferTransferResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly offer: OfferTransfer,
    private readonly takeUp: TakeUpTransfer,
  ) {}

  @Mutation(() => OfferTransferPayload, {
    description: 'Offers animals or lots of an own keeper to another keeper, or to somebody without an account.',
  })
  @Authorize('transfer.offer')
  async offerTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: OfferTransferInput,
  ): Promise<OfferTransferPayload> {
    const { transferId, claimCode } = await this.offer.execute(viewer, parseInput(offerCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)), claimCode };
  }

  @Mutation(() => TakeUpTransferPayload, {
    description: 'Takes up, with the claim code of a paper, animals that were received before there was an account.',
  })
  @Authorize('transfer.take-up')
  async takeUpTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: TakeUpTransferInput,
  ): Promise<TakeUpTransferPayload> {
    const { transferId } = await this.takeUp.execute(viewer, parseInput(takeUpCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
