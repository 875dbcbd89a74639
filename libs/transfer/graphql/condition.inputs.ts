import { Field, ID, InputType, Int } from '@nestjs/graphql';
import { HoldingDocumentKindType } from '../../document/index.js';
import { ConditionKindType, ConditionSettlementType } from './transfer.enums.js';

@InputType()
export class TransferConditionInput {
  @Field(() => ConditionKindType)
  kind!: ConditionKindType;

  @Field(() => HoldingDocumentKindType, { nullable: true, description: 'Of a document.' })
  documentKind?: HoldingDocumentKindType | null;

  @Field(() => String, { nullable: true, description: 'Of another condition; for the two parties only.' })
  text?: string | null;
}

@InputType()
export class SettleTransferConditionInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { nullable: true })
  expectedVersion?: number | null;

  @Field(() => ID)
  conditionId!: string;

  @Field(() => ConditionSettlementType)
  settledAs!: ConditionSettlementType;
}
