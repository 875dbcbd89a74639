import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { isId } from '../../kernel/index.js';
import {
  type ConnectionOf,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { LotChangePageStore, type LotChangeRow } from '../store/lot-change-page.store.js';
import { AnimalType } from './animal.types.js';
import { notOfThisList } from './fact-page.js';
import { LotChangeConnection, type LotChangeType, toLotChangeType } from './lot-changes.types.js';

const PAGES = Symbol('pages of lot changes');

type Asked = { readonly lotId: string; readonly after: string | null; readonly first: number };

/** How the count of a lot came to be. */
@Resolver(() => AnimalType)
export class LotChangesResolver {
  constructor(private readonly changes: LotChangePageStore) {}

  @ResolveField(() => LotChangeConnection, {
    nullable: true,
    description:
      'Every change of a lot’s count, corrected and withdrawn ones too, last recorded first; for who has or owns the lot.',
  })
  async countChanges(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<LotChangeType> | null> {
    if (view.level !== 'full' || view.kind !== 'lot') return null;
    const page = toPage(args, 1);
    const after = page.after?.[0] ?? null;
    if (after !== null && !isId(after)) throw notOfThisList();
    const loader = loaders.get<Asked, LotChangeRow[] | null>(PAGES, () => new DataLoader((asked) => this.read(asked)));
    const rows = await loader.load({ lotId: view.id, after, first: page.first });
    if (rows === null) throw notOfThisList();
    return toConnection(rows, page.first, (row) => [row.id], toLotChangeType);
  }

  /** One statement for each length of page that is asked for. */
  private async read(asked: readonly Asked[]): Promise<(LotChangeRow[] | null)[]> {
    const found: (LotChangeRow[] | null)[] = asked.map(() => null);
    for (const first of new Set(asked.map((page) => page.first))) {
      const places = [...asked.keys()].filter((i) => asked[i]?.first === first);
      const pages = await this.changes.findPages(
        places.flatMap((i) => asked[i] ?? []),
        first,
      );
      for (const [j, i] of places.entries()) found[i] = pages[j] ?? null;
    }
    return found;
  }
}
