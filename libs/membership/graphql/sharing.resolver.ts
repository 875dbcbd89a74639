import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { AccountStore } from '../store/account.store.js';
import { toOwnKeeper } from './membership.types.js';
import { SetSharingInput, SetSharingPayload } from '../clubs/office.types.js';
import { SetSharing, setSharingCommand } from '../app/set-sharing.js';

@Resolver()
export class SharingResolver {
  constructor(
    private readonly accounts: AccountStore,
    private readonly setSharingUseCase: SetSharing,
  ) {}

  @Mutation(() => SetSharingPayload, { description: 'An owner decides what others see of an own keeper.' })
  @Authorize('membership.set-sharing')
  async setSharing(@CurrentViewer() viewer: Viewer, @Args('input') input: SetSharingInput): Promise<SetSharingPayload> {
    const { keeperId } = await this.setSharingUseCase.execute(viewer, parseInput(setSharingCommand, input));
    const keeper = (await this.accounts.findOwnKeepers(viewer)).find(({ id }) => id === keeperId);
    if (keeper === undefined) throw notFound('keeper');
    return { keeper: toOwnKeeper(keeper) };
  }
}
