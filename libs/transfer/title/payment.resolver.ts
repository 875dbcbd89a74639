import { Args, Field, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { ConfirmPayment, QuestionPayment } from './answer-payment.js';
import { DeclarePayment, declarePaymentCommand } from './declare-payment.js';
import { answerCommand } from './payment-command.js';
import { TransferStore } from '../store/transfer.store.js';
import { ConfirmPaymentInput, DeclarePaymentInput, QuestionPaymentInput } from './payment.inputs.js';
import { toTransferType, TransferType } from '../graphql/transfer.types.js';

@ObjectType()
export class DeclarePaymentPayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

@ObjectType()
export class ConfirmPaymentPayload extends DeclarePaymentPayload {}

@ObjectType()
export class QuestionPaymentPayload extends DeclarePaymentPayload {}

/** What was paid of a price that property waits for, and whether it arrived. */
@Resolver()
export class PaymentResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly declare: DeclarePayment,
    private readonly confirm: ConfirmPayment,
    private readonly question: QuestionPayment,
  ) {}

  @Mutation(() => DeclarePaymentPayload, {
    description: 'The receiver says that it paid; it counts once the giver confirms it. The registry moves no money.',
  })
  @Authorize('transfer.declare-payment')
  async declarePayment(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: DeclarePaymentInput,
  ): Promise<DeclarePaymentPayload> {
    const { transferId } = await this.declare.execute(viewer, parseInput(declarePaymentCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => ConfirmPaymentPayload, {
    description: 'The giver has received a payment; on the day they reach the price, property goes to the receiver.',
  })
  @Authorize('transfer.answer-payment')
  async confirmPayment(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ConfirmPaymentInput,
  ): Promise<ConfirmPaymentPayload> {
    const { transferId } = await this.confirm.execute(viewer, parseInput(answerCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }

  @Mutation(() => QuestionPaymentPayload, {
    description:
      'The giver says that a payment has not arrived. It does not count until the giver confirms it after all.',
  })
  @Authorize('transfer.answer-payment')
  async questionPayment(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: QuestionPaymentInput,
  ): Promise<QuestionPaymentPayload> {
    const { transferId } = await this.question.execute(viewer, parseInput(answerCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
