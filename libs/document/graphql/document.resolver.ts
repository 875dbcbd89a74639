import { Args, Field, ID, Int, Mutation, ObjectType, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { actsFor, notFound, parseDay, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  foreignCursor,
  Loaders,
  type Page,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { loadTaxon, TaxonStore, TaxonType } from '../../taxon/index.js';
import { RecordDocument } from '../app/record-document.js';
import { SupersedeDocument } from '../app/supersede-document.js';
import { expiryState } from '../core/expiry.core.js';
import { type DocumentKey, DocumentReadStore } from '../store/document-read.store.js';
import {
  recordDocumentCommand,
  RecordDocumentInput,
  RecordDocumentPayload,
  supersedeDocumentCommand,
  SupersedeDocumentInput,
  SupersedeDocumentPayload,
} from './document.inputs.js';
import {
  DocumentCoverType,
  DocumentStateType,
  HoldingDocumentConnection,
  HoldingDocumentType,
  toDocumentType,
} from './document.types.js';

@ObjectType('DocumentStanding', { description: 'How a document stands on the day of the question.' })
export class DocumentStandingType {
  @Field(() => DocumentStateType)
  state!: DocumentStateType;

  @Field(() => Int, {
    nullable: true,
    description: 'Days to the first valid day (not yet valid) or to the last (valid, lapsing; 0 is that day).',
  })
  inDays!: number | null;

  @Field(() => Int, { nullable: true, description: 'Days since the last valid day, when lapsed.' })
  daysAgo!: number | null;
}

@Resolver(() => HoldingDocumentType)
export class DocumentResolver {
  constructor(
    private readonly documents: DocumentReadStore,
    private readonly recordUseCase: RecordDocument,
    private readonly supersedeUseCase: SupersedeDocument,
    private readonly clock: Clock,
  ) {}

  @Query(() => HoldingDocumentType, {
    description: 'A document of an own keeper, in force or replaced, or one that came with an animal.',
  })
  @Authorize('document.read')
  async holdingDocument(
    @CurrentViewer() viewer: Viewer,
    @Args('id', { type: () => ID }) id: string,
  ): Promise<HoldingDocumentType> {
    return this.read(viewer, id);
  }

  @Query(() => HoldingDocumentConnection, {
    description: 'Documents of an own keeper in force, the first to end first, those without an end last.',
  })
  @Authorize('document.read')
  async myDocuments(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<HoldingDocumentType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 2);
    const views = await this.documents.pageOfKeeper(viewer, keeperId, keyOf(page), page.first + 1);
    return toConnection(views, page.first, (view) => [view.validUntil ?? '', view.id], toDocumentType);
  }

  @Mutation(() => RecordDocumentPayload, { description: 'Records a document of an own keeper.' })
  @Authorize('document.record')
  async recordDocument(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordDocumentInput,
  ): Promise<RecordDocumentPayload> {
    const { documentId } = await this.recordUseCase.execute(viewer, parseInput(recordDocumentCommand, input));
    return { document: await this.read(viewer, documentId) };
  }

  @Mutation(() => SupersedeDocumentPayload, { description: 'Corrects or prolongs a document of an own keeper.' })
  @Authorize('document.supersede')
  async supersedeDocument(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SupersedeDocumentInput,
  ): Promise<SupersedeDocumentPayload> {
    const { documentId } = await this.supersedeUseCase.execute(viewer, parseInput(supersedeDocumentCommand, input));
    return { document: await this.read(viewer, documentId) };
  }

  @ResolveField(() => DocumentStandingType)
  standing(@Parent() { view }: HoldingDocumentType): DocumentStandingType {
    const { state, ...days } = expiryState(view, this.clock.today());
    return { inDays: null, daysAgo: null, ...days, state: DocumentStateType[state] };
  }

  private async read(viewer: Viewer, id: string): Promise<HoldingDocumentType> {
    const known = z.uuid().safeParse(id).success;
    const view = known ? (await this.documents.findVisible(viewer, [id])).get(id) : undefined;
    if (view === undefined) throw notFound('document');
    return toDocumentType(view);
  }
}

@Resolver(() => DocumentCoverType)
export class DocumentCoverResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
  ) {}

  @ResolveField(() => AnimalType, { nullable: true })
  async animal(
    @Parent() { cover }: DocumentCoverType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    if (cover.what !== 'animal') return null;
    // An animal that was given away is read at the level that is left, or not at all.
    const view = await loadAnimal(loaders, this.animals, viewer, cover.animalId);
    return view === null ? null : toAnimalType(view);
  }

  @ResolveField(() => TaxonType, { nullable: true })
  async taxon(@Parent() { cover }: DocumentCoverType, @Loaders() loaders: RequestLoaders): Promise<TaxonType | null> {
    return cover.what === 'taxon' ? loadTaxon(loaders, this.taxa, cover.taxonId) : null;
  }

  @ResolveField(() => Boolean)
  wholeCollection(@Parent() { cover }: DocumentCoverType): boolean {
    return cover.what === 'collection';
  }
}

function keyOf(page: Page): DocumentKey | null {
  if (page.after === null) return null;
  const [end = '', id = ''] = page.after;
  const validUntil = end === '' ? '' : parseDay(end);
  if (validUntil !== null && z.uuid().safeParse(id).success) return { validUntil, id };
  throw foreignCursor();
}
