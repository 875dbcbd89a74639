import { Args, ID, Mutation, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { holdsOffice, notFound, parseDay, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  foreignCursor,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { AppointCoordinator, appointCoordinatorCommand } from './appoint-coordinator.js';
import { EndOffice, endOfficeCommand } from './end-office.js';
import { HandOverOffice, handOverOfficeCommand } from './hand-over-office.js';
import { requireRegistrar } from '../core/club-standing.core.js';
import { MeType } from '../graphql/membership.types.js';
import { type OfficeKey, OfficeStore } from './office.store.js';
import {
  AppointCoordinatorInput,
  AppointCoordinatorPayload,
  EndOfficeInput,
  EndOfficePayload,
  HandOverOfficeInput,
  HandOverOfficePayload,
  OfficeConnection,
  OfficeType,
} from './office.types.js';

@Resolver(() => MeType)
export class OfficeResolver {
  constructor(
    private readonly offices: OfficeStore,
    private readonly appoint: AppointCoordinator,
    private readonly end: EndOffice,
    private readonly handOver: HandOverOffice,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => [OfficeType], { name: 'offices', description: 'Offices the account holds today.' })
  async held(@CurrentViewer() viewer: Viewer): Promise<OfficeType[]> {
    return this.offices.findHeld(viewer.accountId, this.clock.today());
  }

  @Query(() => OfficeConnection, { description: 'Offices of a club that are held or begin later, for its registrar.' })
  @Authorize('membership.read-offices')
  async clubOffices(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<OfficeType>> {
    requireRegistrar(viewer, clubId);
    const page = toPage(args, 2);
    const rows = await this.offices.listOf(clubId, this.clock.today(), keyOf(page.after), page.first + 1);
    return toConnection(
      rows,
      page.first,
      (row) => [row.validFrom, row.id],
      (row) => row,
    );
  }

  @Mutation(() => AppointCoordinatorPayload, { description: 'A registrar of the club appoints a coordinator.' })
  @Authorize('membership.appoint')
  async appointCoordinator(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AppointCoordinatorInput,
  ): Promise<AppointCoordinatorPayload> {
    const { officeId } = await this.appoint.execute(viewer, parseInput(appointCoordinatorCommand, input));
    return { office: await this.show(viewer, officeId) };
  }

  @Mutation(() => HandOverOfficePayload, {
    description:
      'Whoever holds an office, or a registrar, hands it to somebody else of the club in one act. What waits in it goes along.',
  })
  @Authorize('membership.hand-over-office')
  handOverOffice(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: HandOverOfficeInput,
  ): Promise<HandOverOfficePayload> {
    return this.handOver.execute(viewer, parseInput(handOverOfficeCommand, input));
  }

  @Mutation(() => EndOfficePayload, { description: 'A registrar of the club ends an office.' })
  @Authorize('membership.end-office')
  async endOffice(@CurrentViewer() viewer: Viewer, @Args('input') input: EndOfficeInput): Promise<EndOfficePayload> {
    const { officeId } = await this.end.execute(viewer, parseInput(endOfficeCommand, input));
    return { office: await this.show(viewer, officeId) };
  }

  /**
   * Asks again who may read it: a request repeated with its key is answered without running anew. A registrar who ended the
   * own office reads that one still.
   */
  private async show(viewer: Viewer, officeId: string): Promise<OfficeType> {
    const office = await this.offices.get(officeId);
    const registrar = holdsOffice(viewer, { clubId: office.clubId, region: null, taxonId: null });
    if (!registrar && office.accountId !== viewer.accountId) throw notFound('office');
    return office;
  }
}

const isId = (text: string): boolean => /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(text);

function keyOf(after: readonly string[] | null): OfficeKey | null {
  if (after === null) return null;
  const [from = '', id = ''] = after;
  const validFrom = parseDay(from);
  if (validFrom !== null && isId(id)) return { validFrom, id };
  throw foreignCursor();
}
