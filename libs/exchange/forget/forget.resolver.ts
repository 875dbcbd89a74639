import { Args, Field, ID, InputType, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, type Client, CurrentClient, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { ForgetMe, forgetMeCommand } from './forget-me.js';

@InputType()
export class ForgetMeInput {
  @Field(() => String, { description: 'The present password: whoever finds an open device cannot do this.' })
  password!: string;
}

@ObjectType()
export class ForgetMePayload {
  @Field(() => ID)
  accountId!: string;

  @Field(() => [ID], { description: 'The keepers that had no other owner: they are forgotten too.' })
  keeperIds!: string[];
}

@Resolver()
export class ForgetResolver {
  constructor(private readonly forget: ForgetMe) {}

  @Mutation(() => ForgetMePayload, {
    description:
      'Forgets the own account, and every keeper it is the last owner of: names, addresses, notes, messages, prices and files go for good. Animals, their parents and who had them when stay, without a name. Take an export first, and tell whoever has your animals now what your notes say of their care and health.',
  })
  @Authorize('exchange.forget-me')
  async forgetMe(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ForgetMeInput,
    @CurrentClient() client: Client,
  ): Promise<ForgetMePayload> {
    return this.forget.execute(viewer, parseInput(forgetMeCommand, input), client.address);
  }
}
