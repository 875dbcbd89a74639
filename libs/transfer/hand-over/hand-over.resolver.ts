import { Args, Field, ID, InputType, Int, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { ConfirmHandOver, confirmHandOverCommand } from './confirm-hand-over.js';
import { OpenHandOver, openHandOverCommand } from './open-hand-over.js';
import { TransferStore } from '../store/transfer.store.js';
import { ReceiveEggsInput } from '../eggs/transfer-eggs.types.js';
import { ReceiveItemInput } from '../graphql/transfer.inputs.js';
import { toTransferType, TransferType } from '../graphql/transfer.types.js';

@InputType()
export class OpenHandOverInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { nullable: true })
  expectedVersion?: number | null;

  @Field(() => String, { nullable: true, description: 'Why it is handed over in spite of a quarantine.' })
  reason?: string | null;
}

@ObjectType()
export class OpenHandOverPayload {
  @Field(() => TransferType)
  transfer!: TransferType;

  @Field(() => String, {
    description:
      'To be shown or read aloud to the receiver. As a square: GET /transfers/TRANSFER-ID/hand-over.svg or .png.',
  })
  code!: string;

  @Field(() => Date)
  expiresAt!: Date;
}

@InputType()
export class ConfirmHandOverInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { nullable: true })
  expectedVersion?: number | null;

  @Field(() => String, { description: 'What the giver shows.' })
  code!: string;

  @Field(() => [ReceiveItemInput], { description: 'How every animal is.' })
  items!: ReceiveItemInput[];

  @Field(() => [ReceiveEggsInput], { nullable: true })
  eggs?: ReceiveEggsInput[] | null;
}

@ObjectType()
export class ConfirmHandOverPayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

/** A hand-over in person: the giver shows a code, the receiver enters it. */
@Resolver()
export class HandOverResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly opening: OpenHandOver,
    private readonly confirming: ConfirmHandOver,
  ) {}

  @Mutation(() => OpenHandOverPayload, {
    description:
      'Both are there: the giver opens the hand-over and shows the code. It works once, for 15 minutes; opening again makes another.',
  })
  @Authorize('transfer.hand-over')
  async openHandOver(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: OpenHandOverInput,
  ): Promise<OpenHandOverPayload> {
    const { transferId, code, expiresAt } = await this.opening.execute(viewer, parseInput(openHandOverCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)), code, expiresAt };
  }

  @Mutation(() => ConfirmHandOverPayload, {
    description:
      'The receiver enters the code and says how everything is: accepted, sent and received in one act. Ten wrong tries close the code.',
  })
  @Authorize('transfer.hand-over')
  async confirmHandOver(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ConfirmHandOverInput,
  ): Promise<ConfirmHandOverPayload> {
    const { transferId } = await this.confirming.execute(viewer, parseInput(confirmHandOverCommand, input));
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
