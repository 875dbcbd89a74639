import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  idAfter,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import {
  acceptClubInvitationCommand,
  InviteToClub,
  inviteToClubCommand,
  withdrawClubInvitationCommand,
} from './invite-to-club.js';
import { requireRegistrar } from '../core/club-standing.core.js';
import { MemberStore } from '../store/member.store.js';
import {
  AcceptClubInvitationInput,
  ClubInvitationConnection,
  ClubInvitationPayload,
  type ClubInvitationType,
  InviteToClubInput,
  WithdrawClubInvitationInput,
} from './club-invitation.types.js';
import { ClubIdPayload } from './club.types.js';

/** How registrars ask keepers into a club. */
@Resolver()
export class ClubInvitationResolver {
  constructor(
    private readonly invitations: InviteToClub,
    private readonly members: MemberStore,
    private readonly clock: Clock,
  ) {}

  @Query(() => ClubInvitationConnection, { description: 'Invitations to a club that wait, for its registrars.' })
  @Authorize('membership.read-applications')
  async clubInvitations(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ClubInvitationType>> {
    requireRegistrar(viewer, clubId);
    const page = toPage(args, 1);
    const after = idAfter(page.after);
    return toConnection(
      await this.members.listClubInvitations(clubId, this.clock.now(), after, page.first + 1),
      page.first,
      (row) => [row.id],
      (row) => row,
    );
  }

  @Mutation(() => ClubInvitationPayload, {
    description:
      'A registrar asks a keeper into the club, by its id or by a mailed code. Accepting it is the admission.',
  })
  @Authorize('membership.invite-to-club')
  inviteToClub(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: InviteToClubInput,
  ): Promise<ClubInvitationPayload> {
    return this.invitations.invite(viewer, parseInput(inviteToClubCommand, input));
  }

  @Mutation(() => ClubIdPayload, { description: 'An owner accepts for the keeper, which is a member from that day.' })
  @Authorize('membership.accept-invitation')
  acceptClubInvitation(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AcceptClubInvitationInput,
  ): Promise<ClubIdPayload> {
    return this.invitations.accept(viewer, parseInput(acceptClubInvitationCommand, input));
  }

  @Mutation(() => ClubInvitationPayload, { description: 'The invitation is no longer good.' })
  @Authorize('membership.invite-to-club')
  withdrawClubInvitation(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawClubInvitationInput,
  ): Promise<ClubInvitationPayload> {
    return this.invitations.withdraw(viewer, parseInput(withdrawClubInvitationCommand, input));
  }
}
