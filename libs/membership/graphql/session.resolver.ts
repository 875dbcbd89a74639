import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type Client,
  CurrentClient,
  CurrentViewer,
  parseInput,
  Public,
  RequestId,
} from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { OpenAccount, openAccountCommand } from '../app/open-account.js';
import { EndSession } from '../session/end-session.js';
import { RenewSession } from '../session/renew-session.js';
import { SessionStore } from '../session/session.store.js';
import { SignIn, type SignedIn } from '../session/sign-in.js';
import {
  EndSessionInput,
  EndSessionPayload,
  OpenAccountInput,
  OpenAccountPayload,
  RenewSessionInput,
  SessionType,
  SignInInput,
  SignInPayload,
} from './session.types.js';

const signInCommand = z.object({ email: z.string().max(254), password: z.string().max(200) });
const renewCommand = z.object({ refreshToken: z.string().max(100) });
const endCommand = z.object({ sessionId: idInput.nullish() });

const toPayload = ({ token, ...session }: SignedIn): SignInPayload => ({ ...session, accessToken: token });

@Resolver()
export class SessionResolver {
  constructor(
    private readonly signInUseCase: SignIn,
    private readonly openAccountUseCase: OpenAccount,
    private readonly renew: RenewSession,
    private readonly end: EndSession,
    private readonly sessions: SessionStore,
    private readonly clock: Clock,
  ) {}

  @Query(() => [SessionType], { description: 'Where the own account is signed in, the one used last first.' })
  @Authorize('membership.read-own')
  async mySessions(@CurrentViewer() viewer: Viewer): Promise<SessionType[]> {
    const open = await this.sessions.findOpen(viewer.accountId, this.clock.now());
    return open.map((session) => ({ ...session, inUse: session.id === viewer.sessionId }));
  }

  @Mutation(() => SignInPayload)
  @Public('Signing in is how a viewer comes to be.')
  async signIn(
    @Args('input') input: SignInInput,
    @CurrentClient() client: Client,
    @RequestId() requestId: string,
  ): Promise<SignInPayload> {
    return toPayload(await this.signInUseCase.execute(parseInput(signInCommand, input), client, requestId));
  }

  @Mutation(() => OpenAccountPayload, { description: 'Opens an account with its first keeper, and signs in.' })
  @Public('Whoever opens an account has none yet.')
  async openAccount(
    @Args('input') input: OpenAccountInput,
    @CurrentClient() client: Client,
    @RequestId() requestId: string,
  ): Promise<OpenAccountPayload> {
    const opened = await this.openAccountUseCase.execute(parseInput(openAccountCommand, input), client, requestId);
    return { ...toPayload(opened), accountId: opened.accountId, keeperId: opened.keeperId };
  }

  @Mutation(() => SignInPayload, {
    description:
      'A new access token, and the next refresh token. One that comes a second time ends the session for all who have it.',
  })
  @Public('The access token may have lapsed; the refresh token shows who asks.')
  async renewSession(@Args('input') input: RenewSessionInput, @RequestId() requestId: string): Promise<SignInPayload> {
    return toPayload(await this.renew.execute(parseInput(renewCommand, input).refreshToken, requestId));
  }

  @Mutation(() => EndSessionPayload, {
    description: 'Ends a sign-in of the own account at once: this one, or a lost telephone.',
  })
  @Authorize('membership.end-session')
  async endSession(@CurrentViewer() viewer: Viewer, @Args('input') input: EndSessionInput): Promise<EndSessionPayload> {
    const sessionId = parseInput(endCommand, input).sessionId ?? viewer.sessionId;
    if (sessionId === undefined) throw notFound('session');
    return this.end.execute(viewer, sessionId);
  }
}
