import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { actsFor, type Day, invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  DayType,
  foreignCursor,
  PageArgs,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { type BookEntry, stockBook, total } from '../core/stock-book.core.js';
import { CustodyReadStore } from '../store/custody-read.store.js';
import { StockBookEntryConnection, StockBookEntryType, StockBookType, StockCauseType } from './custody.types.js';

@Resolver(() => StockBookType)
export class StockBookResolver {
  constructor(private readonly custody: CustodyReadStore) {}

  @Query(() => StockBookType, {
    name: 'stockBook',
    description: 'Arrivals and departures of an own keeper over some days, both ends included.',
  })
  @Authorize('custody.read-stock-book')
  async read(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args('from', { type: () => DayType }) from: Day,
    @Args('asOf', { type: () => DayType }) asOf: Day,
  ): Promise<StockBookType> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (asOf < from) {
      throw invalidInput([
        { path: 'asOf', message: 'The book ends before it begins.', remedy: 'Name a day on or after `from`.' },
      ]);
    }
    const book = stockBook(await this.custody.readBook(keeperId), from, asOf);
    const { opening, closing, unaccounted } = book;
    return {
      keeperId,
      from,
      asOf,
      opening,
      arrived: total(book.arrivals),
      departed: total(book.departures),
      closing,
      unaccounted,
      book,
    };
  }

  @ResolveField(() => StockBookEntryConnection, { description: 'By day.' })
  arrivals(@Parent() { book }: StockBookType, @Args() args: PageArgs): ConnectionOf<StockBookEntryType> {
    return pageOf(book.arrivals, args);
  }

  @ResolveField(() => StockBookEntryConnection, { description: 'By day.' })
  departures(@Parent() { book }: StockBookType, @Args() args: PageArgs): ConnectionOf<StockBookEntryType> {
    return pageOf(book.departures, args);
  }
}

/** A page of entries; the cursor is the place in the book, because one record may have several entries on one day. */
function pageOf(entries: readonly BookEntry[], args: PageArgs): ConnectionOf<StockBookEntryType> {
  const page = toPage(args, 1);
  const after = page.after?.[0] === undefined ? -1 : Number(page.after[0]);
  if (!Number.isInteger(after)) {
    throw foreignCursor();
  }
  const rows = entries.map((entry, place) => ({ entry, place })).slice(after + 1, after + 2 + page.first);
  return toConnection(
    rows,
    page.first,
    (row) => [String(row.place)],
    ({ entry }) => ({ ...entry, cause: StockCauseType[entry.cause] }),
  );
}
