import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { notFound, type Viewer } from '../../kernel/index.js';
import { seesClub } from '../../membership/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { SetClubPolicy, setClubPolicyCommand } from './set-club-policy.js';
import { ClubPolicyStore, type PolicyLine } from './club-policy.store.js';
import { ClubPolicyLineType, PolicyCheckType, SetClubPolicyInput, SetClubPolicyPayload } from './club-policy.types.js';
import { CheckEffectType } from '../graphql/transfer.enums.js';

/** What a club says of the checks before sending. */
@Resolver()
export class ClubPolicyResolver {
  constructor(
    private readonly policies: ClubPolicyStore,
    private readonly set: SetClubPolicy,
  ) {}

  @Query(() => [ClubPolicyLineType], {
    description:
      'What the checks before sending do between members of the club, one line a check, for its members. Where two clubs both parties belong to differ, the stricter holds.',
  })
  @Authorize('transfer.read-club-policy')
  async clubPolicy(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
  ): Promise<ClubPolicyLineType[]> {
    return this.show(viewer, clubId);
  }

  @Mutation(() => SetClubPolicyPayload, {
    description: 'A registrar says what a check before sending does between members of the club.',
  })
  @Authorize('transfer.set-club-policy')
  async setClubPolicy(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetClubPolicyInput,
  ): Promise<SetClubPolicyPayload> {
    const { clubId } = await this.set.execute(viewer, parseInput(setClubPolicyCommand, input));
    return { policy: await this.show(viewer, clubId) };
  }

  private async show(viewer: Viewer, clubId: string): Promise<ClubPolicyLineType[]> {
    if (!seesClub(viewer, clubId)) throw notFound('club');
    return (await this.policies.read(clubId)).map(toLine);
  }
}

function toLine({ check, effect, saidByClub }: PolicyLine): ClubPolicyLineType {
  return { check: PolicyCheckType[check], effect: CheckEffectType[effect], saidByClub };
}
