import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type Client,
  CurrentClient,
  CurrentViewer,
  parseInput,
  Public,
  RequestId,
} from '../../platform/graphql/index.js';
import { ChangePassword } from '../session/change-password.js';
import { ConfirmEmail } from '../session/confirm-email.js';
import { emailAddress, newPassword } from '../session/password.schema.js';
import {
  AccountPayload,
  ChangePasswordInput,
  ConfirmEmailInput,
  RequestEmailConfirmationInput,
  RequestPasswordResetInput,
  RequestPasswordResetPayload,
  ResetPasswordInput,
  ResetPasswordPayload,
} from './session.types.js';

const code = z.string().trim().max(100);
const confirmCommand = z.object({ code });
const changeCommand = z.object({ current: z.string().max(200), next: newPassword });
const emailCommand = z.object({ email: emailAddress });
const resetCommand = z.object({ code, next: newPassword });

@Resolver()
export class AccountResolver {
  constructor(
    private readonly confirm: ConfirmEmail,
    private readonly password: ChangePassword,
  ) {}

  @Mutation(() => AccountPayload, { description: 'Mails the own address another code to confirm it with.' })
  @Authorize('membership.confirm-email')
  async requestEmailConfirmation(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RequestEmailConfirmationInput,
  ): Promise<AccountPayload> {
    return this.confirm.request(viewer, parseInput(emailCommand, input).email);
  }

  @Mutation(() => AccountPayload, { description: 'Confirms the own address with the code from the mail.' })
  @Authorize('membership.confirm-email')
  async confirmEmail(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ConfirmEmailInput,
  ): Promise<AccountPayload> {
    return this.confirm.execute(viewer, parseInput(confirmCommand, input).code);
  }

  @Mutation(() => AccountPayload, { description: 'Sets a new password; all other sign-ins of the account end.' })
  @Authorize('membership.change-password')
  async changePassword(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ChangePasswordInput,
  ): Promise<AccountPayload> {
    return this.password.execute(viewer, parseInput(changeCommand, input));
  }

  @Mutation(() => RequestPasswordResetPayload, { description: 'Mails a code to an address that has an account.' })
  @Public('Whoever has forgotten the password cannot sign in.')
  async requestPasswordReset(
    @Args('input') input: RequestPasswordResetInput,
    @CurrentClient() client: Client,
    @RequestId() requestId: string,
  ): Promise<RequestPasswordResetPayload> {
    await this.password.requestReset(parseInput(emailCommand, input).email, client.address, requestId);
    return { message: 'If an account has this address, a mail with a code is on its way.' };
  }

  @Mutation(() => ResetPasswordPayload, {
    description: 'Sets a new password with the code from the mail; all sign-ins of the account end.',
  })
  @Public('The code shows who asks.')
  async resetPassword(
    @Args('input') input: ResetPasswordInput,
    @RequestId() requestId: string,
  ): Promise<ResetPasswordPayload> {
    await this.password.reset(parseInput(resetCommand, input), requestId);
    return { message: 'The password is set. Sign in with it.' };
  }
}
