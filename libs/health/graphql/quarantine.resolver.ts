import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
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
import { JoinQuarantine } from '../app/join-quarantine.js';
import { OpenQuarantine } from '../app/open-quarantine.js';
import {
  joinQuarantineCommand,
  openQuarantineCommand,
  type QuarantineOutcome,
  releaseQuarantineCommand,
} from '../app/quarantine-commands.js';
import { ReleaseQuarantine } from '../app/release-quarantine.js';
import { QUARANTINE_CAUTION } from '../core/caution.core.js';
import { QuarantineReadStore } from '../store/quarantine-read.store.js';
import {
  JoinQuarantineInput,
  JoinQuarantinePayload,
  OpenQuarantineInput,
  OpenQuarantinePayload,
  QuarantineGroupConnection,
  QuarantineGroupType,
  ReleaseQuarantineInput,
  ReleaseQuarantinePayload,
  toQuarantineGroupType,
} from './quarantine.types.js';

@Resolver()
export class QuarantineResolver {
  constructor(
    private readonly quarantines: QuarantineReadStore,
    private readonly open: OpenQuarantine,
    private readonly join: JoinQuarantine,
    private readonly release: ReleaseQuarantine,
    private readonly clock: Clock,
  ) {}

  @Query(() => QuarantineGroupConnection, {
    name: 'quarantines',
    description: 'Quarantine groups of an own keeper, last opened first.',
  })
  @Authorize('health.read-quarantines')
  async list(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<QuarantineGroupType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 2);
    const after = momentAfter(page.after);
    const key = after === null ? null : { openedAt: after.at, id: after.id };
    const today = this.clock.today();
    return toConnection(
      await this.quarantines.page(keeperId, page.first, key),
      page.first,
      (group) => [group.openedAt.toISOString(), group.id],
      (group) => toQuarantineGroupType(group, today),
    );
  }

  @Mutation(() => OpenQuarantinePayload, { description: 'Keeps animals of an own keeper apart as a closed group.' })
  @Authorize('health.open-quarantine')
  async openQuarantine(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: OpenQuarantineInput,
  ): Promise<OpenQuarantinePayload> {
    return this.show(viewer, await this.open.execute(viewer, parseInput(openQuarantineCommand, input)));
  }

  @Mutation(() => JoinQuarantinePayload, {
    description: 'Lets animals join a group; those within its scope start the days anew.',
  })
  @Authorize('health.join-quarantine')
  async joinQuarantine(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: JoinQuarantineInput,
  ): Promise<JoinQuarantinePayload> {
    return this.show(viewer, await this.join.execute(viewer, parseInput(joinQuarantineCommand, input)));
  }

  @Mutation(() => ReleaseQuarantinePayload, {
    description: 'Lets a group out; before its days are over only with a reason.',
  })
  @Authorize('health.release-quarantine')
  async releaseQuarantine(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ReleaseQuarantineInput,
  ): Promise<ReleaseQuarantinePayload> {
    return this.show(viewer, await this.release.execute(viewer, parseInput(releaseQuarantineCommand, input)));
  }

  /** Asks again whom the viewer acts for: a request repeated with its key is answered without running anew. */
  private async show(viewer: Viewer, { groupId }: QuarantineOutcome): Promise<OpenQuarantinePayload> {
    const group = await this.quarantines.find(groupId);
    if (group === null || !actsFor(viewer, group.keeperId)) throw notFound('quarantine');
    return { quarantine: toQuarantineGroupType(group, this.clock.today()), caution: QUARANTINE_CAUTION };
  }
}
