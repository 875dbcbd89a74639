import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { z } from 'zod';
import { actsFor, type Day, isId, notFound, parseDay, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  DayType,
  foreignCursor,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { Database } from '../../platform/prisma/index.js';
import { toTransferType, TransferType } from '../graphql/transfer.types.js';
import { findLoanFacts, findLoanPage, type LoanFacts, type LoanQuery } from './loan.store.js';
import { dueBackOn, LoanConnection, LoanStateType, LoanType, toLoanType } from './loan.types.js';

const FACTS = Symbol('loan facts');

/** Loans of a keeper, and their last day as of any day. */
@Resolver(() => LoanType)
export class LoanResolver {
  constructor(
    private readonly database: Database,
    private readonly clock: Clock,
  ) {}

  @Query(() => LoanConnection, { description: 'What an own keeper lends and borrows, the loan due first first.' })
  @Authorize('transfer.read-loans')
  async myLoans(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
    @Args('states', { type: () => [LoanStateType], nullable: true, description: 'All when left out.' })
    states?: LoanStateType[] | null,
  ): Promise<ConnectionOf<LoanType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 2);
    const today = this.clock.today();
    const client = this.database.client;
    const query = { keeperId, states: states ?? null, today, first: page.first, after: dueAfter(page.after) };
    const found = await findLoanPage(client, viewer, query);
    const facts = await findLoanFacts(
      client,
      found.map(({ transfer }) => transfer.id),
    );
    const loans = found.flatMap((visible) => {
      const { id } = visible.transfer;
      return toLoanType(viewer, toTransferType(viewer, visible), facts.get(id) ?? NOTHING, today) ?? [];
    });
    return toConnection(
      loans,
      page.first,
      ({ dueBack, transfer }) => [dueBack, transfer.id],
      (loan) => loan,
    );
  }

  @ResolveField(() => DayType, {
    nullable: true,
    description: 'The last day of the loan as it stood at the end of a day; null before it was offered.',
  })
  dueBackAsOf(@Parent() loan: LoanType, @Args('on', { type: () => DayType }) on: Day): Day | null {
    return dueBackOn(loan, on);
  }
}

/** The loan that a transfer is. */
@Resolver(() => TransferType)
export class TransferLoanResolver {
  constructor(
    private readonly database: Database,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => LoanType, { nullable: true, description: 'Of a breeding loan that was accepted.' })
  async loan(
    @Parent() transfer: TransferType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<LoanType | null> {
    if (transfer.dueBack === null) return null;
    const loader = loaders.get<string, LoanFacts>(
      FACTS,
      () =>
        new DataLoader(
          async (ids) => {
            const found = await findLoanFacts(this.database.client, ids);
            return ids.map((id) => found.get(id) ?? NOTHING);
          },
          // A mutation reads the loan after its own write, and a subscription again and again.
          { cache: false },
        ),
    );
    return toLoanType(viewer, transfer, await loader.load(transfer.id), this.clock.today());
  }
}

const NOTHING: LoanFacts = { out: [], days: [], deaths: [] };

const dueCursor = z.tuple([z.iso.date(), z.uuid()]);

/** The loan a page goes on after. Throws INVALID_INPUT for a cursor of another list. */
function dueAfter(after: readonly string[] | null): LoanQuery['after'] {
  if (after === null) return null;
  const key = dueCursor.safeParse(after);
  const dueBack = key.success ? parseDay(key.data[0]) : null;
  const id = key.data?.[1];
  if (dueBack === null || id === undefined || !isId(id)) throw foreignCursor();
  return { dueBack, id };
}
