import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { notFound, type Viewer } from '../../kernel/index.js';
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
import { AgreeToShares, agreeToSharesCommand } from './agree-to-shares.js';
import { claimCommand, type ClaimOutcome } from './claim-command.js';
import { ClaimOwnership, claimOwnershipCommand } from './claim-ownership.js';
import { ProposeShares, proposeSharesCommand } from './propose-shares.js';
import { ReplyToClaim, replyToClaimCommand } from './reply-to-claim.js';
import { WithdrawClaim } from './withdraw-claim.js';
import { ClaimStore } from './claim.store.js';
import {
  AgreeToSharesInput,
  AgreeToSharesPayload,
  ClaimOwnershipInput,
  ClaimOwnershipPayload,
  OwnershipClaimConnection,
  OwnershipClaimType,
  ProposeSharesInput,
  ProposeSharesPayload,
  ReplyToClaimInput,
  ReplyToClaimPayload,
  toClaimType,
  WithdrawClaimInput,
  WithdrawClaimPayload,
} from './claim.types.js';

/** Two claims on one animal: what both sides state, and how it is settled. */
@Resolver()
export class ClaimResolver {
  constructor(
    private readonly claims: ClaimStore,
    private readonly claim: ClaimOwnership,
    private readonly reply: ReplyToClaim,
    private readonly propose: ProposeShares,
    private readonly agree: AgreeToShares,
    private readonly withdraw: WithdrawClaim,
  ) {}

  @Query(() => OwnershipClaimConnection, {
    description: 'Claims of ownership an own keeper made or is asked about, newest first. For owners of a keeper only.',
  })
  @Authorize('transfer.read-claims')
  async ownershipClaims(
    @CurrentViewer() viewer: Viewer,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<OwnershipClaimType>> {
    const page = toPage(args, 2);
    const key = momentAfter(page.after);
    return toConnection(
      await this.claims.page(viewer, page.first, key),
      page.first,
      ({ madeAt, id }) => [madeAt.toISOString(), id],
      (found) => toClaimType(viewer, found),
    );
  }

  @Mutation(() => ClaimOwnershipPayload, {
    description:
      'A keeper who has or had an animal, owns or owned it, or took part in a transfer of it states that it owns a share. Its property stays as it is until the claim is over.',
  })
  @Authorize('transfer.claim')
  async claimOwnership(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ClaimOwnershipInput,
  ): Promise<ClaimOwnershipPayload> {
    return this.show(viewer, await this.claim.execute(viewer, parseInput(claimOwnershipCommand, input)));
  }

  @Mutation(() => ReplyToClaimPayload, { description: 'An owner by the record states its side, once.' })
  @Authorize('transfer.settle-claim')
  async replyToClaim(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ReplyToClaimInput,
  ): Promise<ReplyToClaimPayload> {
    return this.show(viewer, await this.reply.execute(viewer, parseInput(replyToClaimCommand, input)));
  }

  @Mutation(() => ProposeSharesPayload, {
    description: 'One side proposes shares for every party, and agrees to them. What was proposed before is over.',
  })
  @Authorize('transfer.settle-claim')
  async proposeShares(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ProposeSharesInput,
  ): Promise<ProposeSharesPayload> {
    return this.show(viewer, await this.propose.execute(viewer, parseInput(proposeSharesCommand, input)));
  }

  @Mutation(() => AgreeToSharesPayload, {
    description: 'A party agrees to the proposal it read. Once every party with an account has, they are the owners.',
  })
  @Authorize('transfer.settle-claim')
  async agreeToShares(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AgreeToSharesInput,
  ): Promise<AgreeToSharesPayload> {
    return this.show(viewer, await this.agree.execute(viewer, parseInput(agreeToSharesCommand, input)));
  }

  @Mutation(() => WithdrawClaimPayload, { description: 'The claimant takes its claim back.' })
  @Authorize('transfer.settle-claim')
  async withdrawClaim(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawClaimInput,
  ): Promise<WithdrawClaimPayload> {
    return this.show(viewer, await this.withdraw.execute(viewer, parseInput(claimCommand, input)));
  }

  private async show(viewer: Viewer, { claimId }: ClaimOutcome): Promise<ClaimOwnershipPayload> {
    const claim = await this.claims.find(viewer, claimId);
    if (claim === null) throw notFound('claim');
    return { claim: toClaimType(viewer, claim) };
  }
}
