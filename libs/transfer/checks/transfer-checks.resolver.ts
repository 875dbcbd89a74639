import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { isId, notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CountersignTransfer } from './countersign-transfer.js';
import { WithdrawCountersignature } from './withdraw-countersignature.js';
import { stepCommand } from '../app/step-command.js';
import { SettleCondition, settleConditionCommand } from '../app/settle-condition.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  CountersignTransferInput,
  CountersignTransferPayload,
  SettleTransferConditionPayload,
  WithdrawCountersignatureInput,
  WithdrawCountersignaturePayload,
} from '../graphql/transfer.inputs.js';
import { SettleTransferConditionInput } from '../graphql/condition.inputs.js';
import { toTransferType } from '../graphql/transfer.types.js';
import { toCheckType, TransferCheckType } from './transfer-check.types.js';

/** What stands against sending, and how conditions are settled. */
@Resolver()
export class TransferChecksResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly settle: SettleCondition,
    private readonly countersign: CountersignTransfer,
    private readonly takeBack: WithdrawCountersignature,
    private readonly clock: Clock,
  ) {}

  @Query(() => [TransferCheckType], {
    description:
      'What stands against sending a transfer today, how strongly, and what would clear it. For the giver: it tells of documents and quarantine.',
  })
  @Authorize('transfer.read')
  async transferChecks(
    @CurrentViewer() viewer: Viewer,
    @Args('transferId', { type: () => ID }) transferId: string,
  ): Promise<TransferCheckType[]> {
    if (!isId(transferId)) throw notFound('transfer');
    return (await this.transfers.checkSending(viewer, transferId, this.clock.today())).map(toCheckType);
  }

  @Mutation(() => CountersignTransferPayload, {
    description: 'A guardian agrees to a transfer for the keeper it guards, before anything is sent.',
  })
  @Authorize('transfer.countersign')
  async countersignTransfer(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CountersignTransferInput,
  ): Promise<CountersignTransferPayload> {
    const { transferId } = await this.countersign.execute(viewer, parseInput(stepCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => WithdrawCountersignaturePayload, {
    description: 'A guardian takes a countersignature of its side back, before anything is sent: it is awaited again.',
  })
  @Authorize('transfer.withdraw-countersignature')
  async withdrawCountersignature(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawCountersignatureInput,
  ): Promise<WithdrawCountersignaturePayload> {
    const { transferId } = await this.takeBack.execute(viewer, parseInput(stepCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => SettleTransferConditionPayload, {
    description: 'The receiver says that a condition has come to pass, or waives it.',
  })
  @Authorize('transfer.settle-condition')
  async settleTransferCondition(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SettleTransferConditionInput,
  ): Promise<SettleTransferConditionPayload> {
    const { transferId } = await this.settle.execute(viewer, parseInput(settleConditionCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
