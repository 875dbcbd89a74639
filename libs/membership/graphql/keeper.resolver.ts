import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CorrectMinority, correctMinorityCommand } from '../app/correct-minority.js';
import { InviteToKeeper } from '../app/invite-to-keeper.js';
import { OpenKeeper, openKeeperCommand, updateKeeperCommand } from '../app/open-keeper.js';
import { AccountStore } from '../store/account.store.js';
import {
  AcceptInvitationInput,
  CorrectMinorityInput,
  OpenKeeperInput,
  OwnKeeperPayload,
  UpdateKeeperInput,
} from './member.types.js';
import { toOwnKeeper } from './membership.types.js';

const acceptCommand = z.object({ code: z.string().trim().max(100) });

/** How an account comes to a keeper, and what its owners and guardians change about it. */
@Resolver()
export class KeeperResolver {
  constructor(
    private readonly accounts: AccountStore,
    private readonly invitations: InviteToKeeper,
    private readonly keepers: OpenKeeper,
    private readonly minority: CorrectMinority,
  ) {}

  @Mutation(() => OwnKeeperPayload, { description: 'The account acts for the keeper that invited it.' })
  @Authorize('membership.accept-invitation')
  async acceptInvitation(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AcceptInvitationInput,
  ): Promise<OwnKeeperPayload> {
    return this.own(viewer, await this.invitations.accept(viewer, parseInput(acceptCommand, input).code));
  }

  @Mutation(() => OwnKeeperPayload, { description: 'Another keeper for the own account.' })
  @Authorize('membership.open-keeper')
  async openKeeper(@CurrentViewer() viewer: Viewer, @Args('input') input: OpenKeeperInput): Promise<OwnKeeperPayload> {
    return this.own(viewer, await this.keepers.open(viewer, parseInput(openKeeperCommand, input)));
  }

  @Mutation(() => OwnKeeperPayload, { description: 'An owner changes what the keeper is called and its region.' })
  @Authorize('membership.update-keeper')
  async updateKeeper(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: UpdateKeeperInput,
  ): Promise<OwnKeeperPayload> {
    return this.own(viewer, await this.keepers.update(viewer, parseInput(updateKeeperCommand, input)));
  }

  @Mutation(() => OwnKeeperPayload, {
    description: 'A guardian puts right until which day the keeper is a minor’s; until then it stays one.',
  })
  @Authorize('membership.correct-minority')
  async correctMinority(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectMinorityInput,
  ): Promise<OwnKeeperPayload> {
    return this.own(viewer, await this.minority.execute(viewer, parseInput(correctMinorityCommand, input)));
  }

  /** Read with the keepers of now: the viewer was built before the account had this one. */
  private async own(viewer: Viewer, { keeperId }: { keeperId: string }): Promise<OwnKeeperPayload> {
    const facts = await this.accounts.findViewerFacts(viewer.accountId, null);
    const keepers = facts === null ? [] : await this.accounts.findOwnKeepers({ ...viewer, ...facts });
    const keeper = keepers.find(({ id }) => id === keeperId);
    if (keeper === undefined) throw notFound('keeper');
    return { keeper: toOwnKeeper(keeper) };
  }
}
