import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { AcceptTransfer } from '../app/accept-transfer.js';
import { DeclineTransfer } from '../app/decline-transfer.js';
import { receiveCommand, ReceiveTransfer } from '../app/receive-transfer.js';
import { sendCommand, SendTransfer } from '../app/send-transfer.js';
import { stepCommand } from '../app/step-command.js';
import { WithdrawTransfer } from '../app/withdraw-transfer.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  AcceptTransferInput,
  AcceptTransferPayload,
  DeclineTransferInput,
  DeclineTransferPayload,
  ReceiveTransferInput,
  ReceiveTransferPayload,
  SendTransferInput,
  SendTransferPayload,
  WithdrawTransferInput,
  WithdrawTransferPayload,
} from './transfer.inputs.js';
import { toTransferType } from './transfer.types.js';

/** The steps of an open transfer. */
@Resolver()
export class TransferStepsResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly accept: AcceptTransfer,
    private readonly decline: DeclineTransfer,
    private readonly withdraw: WithdrawTransfer,
    private readonly send: SendTransfer,
    private readonly receive: ReceiveTransfer,
  ) {}

  @Mutation(() => AcceptTransferPayload, {
    description: 'The receiver takes the offer; for an outside party the giver attests it.',
  })
  @Authorize('transfer.accept')
  async acceptTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AcceptTransferInput,
  ): Promise<AcceptTransferPayload> {
    const { transferId } = await this.accept.execute(viewer, parseInput(stepCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => DeclineTransferPayload, {
    description: 'The receiver does not take the offer.',
  })
  @Authorize('transfer.decline')
  async declineTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: DeclineTransferInput,
  ): Promise<DeclineTransferPayload> {
    const { transferId } = await this.decline.execute(viewer, parseInput(stepCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => WithdrawTransferPayload, {
    description: 'The giver takes the offer back before it is accepted.',
  })
  @Authorize('transfer.withdraw')
  async withdrawTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawTransferInput,
  ): Promise<WithdrawTransferPayload> {
    const { transferId } = await this.withdraw.execute(viewer, parseInput(stepCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => SendTransferPayload, {
    description: 'The giver sends the animals or hands them over; the giver holds them until they are received.',
  })
  @Authorize('transfer.send')
  async sendTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SendTransferInput,
  ): Promise<SendTransferPayload> {
    const { transferId } = await this.send.execute(viewer, parseInput(sendCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => ReceiveTransferPayload, {
    description: 'The receiver says how every animal arrived; custody and property move on that day.',
  })
  @Authorize('transfer.receive')
  async receiveTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ReceiveTransferInput,
  ): Promise<ReceiveTransferPayload> {
    const { transferId } = await this.receive.execute(viewer, parseInput(receiveCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
