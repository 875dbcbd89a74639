import { Query, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { AccountStore } from '../store/account.store.js';
import { MeType, toOwnKeeper } from './membership.types.js';

@Resolver()
export class MembershipResolver {
  constructor(private readonly accounts: AccountStore) {}

  @Query(() => MeType, { description: 'The account that is signed in, and the keepers it acts for.' })
  @Authorize('membership.read-own')
  async me(@CurrentViewer() viewer: Viewer): Promise<MeType> {
    const keepers = await this.accounts.findOwnKeepers(viewer);
    return {
      accountId: viewer.accountId,
      ...(await this.accounts.getEmail(viewer)),
      keepers: keepers.map(toOwnKeeper),
    };
  }
}
