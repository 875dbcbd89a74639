import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { AddArrivalPhotos, addArrivalPhotosCommand } from '../app/add-arrival-photos.js';
import { cancelCommand, CancelTransfer } from '../app/cancel-transfer.js';
import { failCommand, FailTransfer } from '../app/fail-transfer.js';
import { leaveOutCommand, LeaveOutItems } from '../app/leave-out-items.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  AddArrivalPhotosInput,
  AddArrivalPhotosPayload,
  CancelTransferInput,
  CancelTransferPayload,
  FailTransferInput,
  FailTransferPayload,
  LeaveOutItemsInput,
  LeaveOutItemsPayload,
} from './transfer.inputs.js';
import { toTransferType } from './transfer.types.js';

/** How a transfer comes to nothing, or to less than was agreed, and what the arrival looked like. */
@Resolver()
export class TransferEndsResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly cancel: CancelTransfer,
    private readonly fail: FailTransfer,
    private readonly leaveOut: LeaveOutItems,
    private readonly photos: AddArrivalPhotos,
  ) {}

  @Mutation(() => CancelTransferPayload, {
    description: 'Either side calls off an accepted transfer before it is sent, with a reason for the other.',
  })
  @Authorize('transfer.cancel')
  async cancelTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CancelTransferInput,
  ): Promise<CancelTransferPayload> {
    const { transferId } = await this.cancel.execute(viewer, parseInput(cancelCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => FailTransferPayload, {
    description:
      'One side says that what was sent came back or never arrived; it has failed once the other side says the same. The giver has then held the animals all the time.',
  })
  @Authorize('transfer.fail')
  async failTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: FailTransferInput,
  ): Promise<FailTransferPayload> {
    const { transferId } = await this.fail.execute(viewer, parseInput(failCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => LeaveOutItemsPayload, {
    description: 'The giver says that some animals of a sent transfer were not sent; they are free for another.',
  })
  @Authorize('transfer.leave-out')
  async leaveOutItems(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: LeaveOutItemsInput,
  ): Promise<LeaveOutItemsPayload> {
    const { transferId } = await this.leaveOut.execute(viewer, parseInput(leaveOutCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => AddArrivalPhotosPayload, {
    description: 'The receiver shows the giver pictures of how an animal arrived.',
  })
  @Authorize('transfer.receive')
  async addArrivalPhotos(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AddArrivalPhotosInput,
  ): Promise<AddArrivalPhotosPayload> {
    const { transferId } = await this.photos.execute(viewer, parseInput(addArrivalPhotosCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
