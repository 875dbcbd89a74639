import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { fieldsShown } from '../../access/index.js';
import { AnimalType } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import {
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { DocumentReadStore, type DocumentView } from '../store/document-read.store.js';
import { HoldingDocumentConnection, HoldingDocumentType, toDocumentType } from './document.types.js';

const DOCUMENTS = Symbol('documents of animals');

@Resolver(() => AnimalType)
export class AnimalDocumentsResolver {
  constructor(private readonly store: DocumentReadStore) {}

  @ResolveField(() => HoldingDocumentConnection, {
    nullable: true,
    description: 'Documents in force that cover this animal by its id; they go along with it. Null where not shown.',
  })
  async documents(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<HoldingDocumentType> | null> {
    if (!fieldsShown(view.level).papers) return null;
    const loader = loaders.get<string, DocumentView[]>(
      DOCUMENTS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.store.findCovering(viewer, ids);
          return ids.map((id) => found.get(id) ?? []);
        }),
    );
    const page = toPage(args, 1);
    const all = await loader.load(view.id);
    const start = page.after === null ? 0 : all.findIndex(({ id }) => id === page.after?.[0]) + 1;
    return toConnection(all.slice(start, start + page.first + 1), page.first, ({ id }) => [id], toDocumentType);
  }
}
