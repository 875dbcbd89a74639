import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  momentAfter,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { answerApplicationCommand, applyToClubCommand, foundClubCommand, JoinClub } from './join-club.js';
import { LeaveClub, leaveClubCommand } from './leave-club.js';
import { requireRegistrar } from '../core/club-standing.core.js';
import { MemberStore } from '../store/member.store.js';
import {
  AnswerApplicationInput,
  ApplyToClubInput,
  ClubApplicationConnection,
  ClubApplicationPayload,
  type ClubApplicationType,
  ClubIdPayload,
  FoundClubInput,
  LeaveClubInput,
} from './club.types.js';

@Resolver()
export class ClubResolver {
  constructor(
    private readonly join: JoinClub,
    private readonly leave: LeaveClub,
    private readonly members: MemberStore,
  ) {}

  @Query(() => ClubApplicationConnection, { description: 'Applications that wait, oldest first, for a registrar.' })
  @Authorize('membership.read-applications')
  async clubApplications(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ClubApplicationType>> {
    requireRegistrar(viewer, clubId);
    const page = toPage(args, 2);
    const key = momentAfter(page.after);
    const rows = await this.members.listApplications(clubId, key, page.first + 1);
    return toConnection(
      rows,
      page.first,
      (row) => [row.appliedAt.toISOString(), row.id],
      (row) => row,
    );
  }

  @Mutation(() => ClubIdPayload, {
    description: 'Founds a club: the keeper its first member, the account its registrar.',
  })
  @Authorize('membership.found-club')
  foundClub(@CurrentViewer() viewer: Viewer, @Args('input') input: FoundClubInput): Promise<ClubIdPayload> {
    return this.join.found(viewer, parseInput(foundClubCommand, input));
  }

  @Mutation(() => ClubApplicationPayload, { description: 'An owner asks that the keeper may join a club.' })
  @Authorize('membership.apply')
  async applyToClub(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ApplyToClubInput,
  ): Promise<ClubApplicationPayload> {
    return this.application(await this.join.apply(viewer, parseInput(applyToClubCommand, input)));
  }

  @Mutation(() => ClubApplicationPayload, { description: 'A registrar admits or declines.' })
  @Authorize('membership.admit')
  async answerApplication(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AnswerApplicationInput,
  ): Promise<ClubApplicationPayload> {
    return this.application(await this.join.answer(viewer, parseInput(answerApplicationCommand, input)));
  }

  @Mutation(() => ClubIdPayload, {
    description:
      'A keeper leaves a club, or a registrar ends a membership. Lineage and numbers stay; offices through it end.',
  })
  @Authorize('membership.leave-club')
  leaveClub(@CurrentViewer() viewer: Viewer, @Args('input') input: LeaveClubInput): Promise<ClubIdPayload> {
    return this.leave.execute(viewer, parseInput(leaveClubCommand, input));
  }

  private async application({ applicationId }: { applicationId: string }): Promise<ClubApplicationPayload> {
    return { application: await this.members.getApplication(applicationId) };
  }
}
