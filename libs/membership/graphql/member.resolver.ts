import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { actsFor, decides, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { ChangeMembers, changeMemberCommand } from '../app/change-members.js';
import { InviteToKeeper, inviteToKeeperCommand } from '../app/invite-to-keeper.js';
import { AccountStore } from '../store/account.store.js';
import { MemberStore } from '../store/member.store.js';
import {
  EndKeeperMembershipInput,
  InviteToKeeperInput,
  KeeperPeoplePayload,
  KeeperPeopleType,
  KeeperRoleType,
  SetKeeperRoleInput,
  WithdrawInvitationInput,
} from './member.types.js';

const withdrawCommand = z.object({ keeperId: idInput, invitationId: idInput });

@Resolver()
export class MemberResolver {
  constructor(
    private readonly accounts: AccountStore,
    private readonly members: MemberStore,
    private readonly invitations: InviteToKeeper,
    private readonly change: ChangeMembers,
    private readonly clock: Clock,
  ) {}

  @Query(() => KeeperPeopleType, { description: 'Who acts for an own keeper, for its owners.' })
  @Authorize('membership.read-members')
  async keeperPeople(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
  ): Promise<KeeperPeopleType> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper sees the addresses of its people.');
    return this.people(keeperId);
  }

  @Mutation(() => KeeperPeoplePayload, {
    description:
      'An owner asks somebody to act for the keeper, by a mailed code. Tells nobody whether an account exists.',
  })
  @Authorize('membership.change-members')
  async inviteToKeeper(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: InviteToKeeperInput,
  ): Promise<KeeperPeoplePayload> {
    return this.show(viewer, await this.invitations.invite(viewer, parseInput(inviteToKeeperCommand, input)));
  }

  @Mutation(() => KeeperPeoplePayload, { description: 'The code of an invitation is no longer good.' })
  @Authorize('membership.change-members')
  async withdrawInvitation(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawInvitationInput,
  ): Promise<KeeperPeoplePayload> {
    return this.show(viewer, await this.invitations.withdraw(viewer, parseInput(withdrawCommand, input)));
  }

  @Mutation(() => KeeperPeoplePayload, { description: 'An owner makes somebody an owner or a helper.' })
  @Authorize('membership.change-members')
  async setKeeperRole(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetKeeperRoleInput,
  ): Promise<KeeperPeoplePayload> {
    const command = parseInput(changeMemberCommand, input);
    return this.show(viewer, await this.change.execute(viewer, command));
  }

  @Mutation(() => KeeperPeoplePayload, {
    description:
      'Somebody acts for the keeper no longer: an owner ends it, or a person leaves. Ends offices held through it.',
  })
  @Authorize('membership.change-members')
  async endKeeperMembership(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: EndKeeperMembershipInput,
  ): Promise<KeeperPeoplePayload> {
    const command = parseInput(changeMemberCommand, { ...input, role: null });
    const ended = await this.change.execute(viewer, command);
    return command.accountId === viewer.accountId ? { ...ended, people: null } : this.show(viewer, ended);
  }

  private async people(keeperId: string): Promise<KeeperPeopleType> {
    const members = await this.members.list(keeperId, this.clock.today());
    const invitations = await this.members.listInvitations({ keeperId }, this.clock.now());
    return {
      members: members.map((row) => ({ ...row, role: KeeperRoleType[row.role] })),
      invitations: invitations.map((row) => ({ ...row, role: KeeperRoleType[row.role ?? 'helper'] })),
    };
  }

  /** Asks again who may read it: somebody may have lost the role with this act, or since a request that is repeated. */
  private async show(viewer: Viewer, { keeperId }: { keeperId: string }): Promise<KeeperPeoplePayload> {
    const facts = await this.accounts.findViewerFacts(viewer.accountId, null);
    const owner = facts?.keepers.some((keeper) => keeper.keeperId === keeperId && decides(keeper.role)) ?? false;
    return { keeperId, people: owner ? await this.people(keeperId) : null };
  }
}
