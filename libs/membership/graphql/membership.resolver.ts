import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput, Public, RequestId } from '../../platform/graphql/index.js';
import { AccountStore } from '../store/account.store.js';
import {
  MeType,
  OpenAccountInput,
  OpenAccountPayload,
  SignInInput,
  SignInPayload,
  toOwnKeeper,
} from './membership.types.js';
import { OpenAccount, openAccountCommand } from '../app/open-account.js';
import { SignIn } from '../session/sign-in.js';

const signInCommand = z.object({ email: z.string().max(254), password: z.string().max(200) });

@Resolver()
export class MembershipResolver {
  constructor(
    private readonly accounts: AccountStore,
    private readonly signInUseCase: SignIn,
    private readonly openAccountUseCase: OpenAccount,
  ) {}

  @Query(() => MeType, { description: 'The account that is signed in, and the keepers it acts for.' })
  @Authorize('membership.read-own')
  async me(@CurrentViewer() viewer: Viewer): Promise<MeType> {
    const keepers = await this.accounts.findOwnKeepers(viewer);
    return {
      accountId: viewer.accountId,
      email: await this.accounts.getEmail(viewer),
      keepers: keepers.map(toOwnKeeper),
    };
  }

  @Mutation(() => SignInPayload)
  @Public('Signing in is how a viewer comes to be.')
  async signIn(@Args('input') input: SignInInput): Promise<SignInPayload> {
    const { token, expiresAt } = await this.signInUseCase.execute(parseInput(signInCommand, input));
    return { accessToken: token, expiresAt };
  }

  @Mutation(() => OpenAccountPayload, { description: 'Opens an account with its first keeper, and signs in.' })
  @Public('Whoever opens an account has none yet.')
  async openAccount(
    @Args('input') input: OpenAccountInput,
    @RequestId() requestId: string,
  ): Promise<OpenAccountPayload> {
    const { token, ...opened } = await this.openAccountUseCase.execute(
      parseInput(openAccountCommand, input),
      requestId,
    );
    return { ...opened, accessToken: token };
  }
}
