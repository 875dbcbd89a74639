import { Field, ObjectType } from '@nestjs/graphql';

@ObjectType('TransferViewerCan', { description: 'What the viewer may do, and can do now.' })
export class TransferViewerCanType {
  @Field(() => Boolean)
  accept!: boolean;

  @Field(() => Boolean)
  decline!: boolean;

  @Field(() => Boolean)
  send!: boolean;

  @Field(() => Boolean)
  receive!: boolean;

  @Field(() => Boolean)
  withdraw!: boolean;

  @Field(() => Boolean)
  cancel!: boolean;

  @Field(() => Boolean)
  fail!: boolean;

  @Field(() => Boolean)
  leaveOut!: boolean;

  @Field(() => Boolean, { description: 'Show the code of a hand-over in person.' })
  openHandOver!: boolean;

  @Field(() => Boolean, { description: 'Enter the code that the giver shows.' })
  confirmHandOver!: boolean;

  @Field(() => Boolean, { description: 'As the guardian of the minor on one side.' })
  countersign!: boolean;

  @Field(() => Boolean, { description: 'Take a countersignature of that side back, before anything is sent.' })
  withdrawCountersignature!: boolean;
}
