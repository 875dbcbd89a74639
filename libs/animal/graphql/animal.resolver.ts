import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { actsFor, invalidInput, NO_ID, notFound, parseRegisterNumber, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { LineType, loadLine, loadTaxon, TaxonStore, TaxonType } from '../../taxon/index.js';
import { type Fact, type FactKind } from '../core/fact.core.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { FactPageStore } from '../store/fact-page.store.js';
import { BirthMannerType, CertaintyType, NoteTopicType, TraitBasisType, TraitStateType } from './animal.enums.js';
import { loadAnimal, loadStanding } from './animal.loaders.js';
import {
  CollectionFilterInput,
  CollectionOrderType,
  CURSOR_PARTS,
  cursorOf,
  placeAfter,
  readFilter,
} from './collection.inputs.js';
import { loadFactPage, newestFirst } from './fact-page.js';
import {
  AnimalConnection,
  AnimalType,
  BirthType,
  NoteConnection,
  NoteType,
  toAnimalType,
  TraitConnection,
  TraitType,
  WeightConnection,
  WeightType,
} from './animal.types.js';

const isId = (text: string): boolean => z.uuid().safeParse(text).success;

@Resolver(() => AnimalType)
export class AnimalResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly facts: FactPageStore,
    private readonly taxa: TaxonStore,
  ) {}

  @Query(() => AnimalType, { description: 'One animal, by id or by register number (give one of them).' })
  @Authorize('animal.read')
  async animal(
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args('id', { type: () => ID, nullable: true }) id?: string | null,
    @Args('registerNumber', { type: () => String, nullable: true }) registerNumber?: string | null,
  ): Promise<AnimalType> {
    const found = await this.idOf(id ?? null, registerNumber ?? null);
    // What there is not is asked for all the same, so that the time of an answer does not tell which numbers exist.
    const view = await loadAnimal(loaders, this.animals, viewer, found ?? NO_ID);
    if (view === null) throw notFound('animal');
    return toAnimalType(view);
  }

  @Query(() => AnimalConnection, {
    description: 'What an own keeper has now, in the order of registration unless another is asked for.',
  })
  @Authorize('animal.read-collection')
  async myCollection(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
    @Args('filter', { type: () => CollectionFilterInput, nullable: true }) filter?: CollectionFilterInput | null,
    @Args('order', { type: () => CollectionOrderType, nullable: true }) order?: CollectionOrderType | null,
  ): Promise<ConnectionOf<AnimalType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const asked = order ?? CollectionOrderType.registered;
    const page = toPage(args, CURSOR_PARTS[asked]);
    const views = await this.animals.pageOfKeeper(keeperId, {
      within: readFilter(filter ?? null),
      byBirth: asked === CollectionOrderType.born,
      first: page.first,
      after: placeAfter(page.after, asked),
    });
    return toConnection(views, page.first, (view) => cursorOf(view, asked), toAnimalType);
  }

  @ResolveField(() => TaxonType)
  async taxon(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<TaxonType> {
    return loadTaxon(loaders, this.taxa, view.taxonId);
  }

  @ResolveField(() => LineType, { nullable: true })
  async line(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<LineType | null> {
    return view.lineId === null ? null : loadLine(loaders, this.taxa, view.lineId);
  }

  @ResolveField(() => BirthType, { nullable: true })
  async birth(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<BirthType | null> {
    const birth = view.record?.birth ?? null;
    if (birth === null) return null;
    const facts = await loadStanding(loaders, this.animals, view);
    const manner = ofKind(facts, 'birth').at(-1)?.body.manner ?? 'unknown';
    return { ...birth, manner: BirthMannerType[manner] };
  }

  @ResolveField(() => WeightConnection, { nullable: true, description: 'Last recorded first.' })
  async weights(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<WeightType> | null> {
    if (view.record === null) return null;
    return loadFactPage(loaders, this.facts, { viewer, view, kinds: ['weight'] }, args, (fact) => ({
      id: fact.id,
      grams: fact.body.grams,
      edtf: fact.when?.edtf ?? null,
    }));
  }

  @ResolveField(() => TraitConnection, { nullable: true, description: 'One a gene; last recorded first.' })
  async traits(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<TraitType> | null> {
    if (view.record === null) return null;
    const facts = ofKind(await loadStanding(loaders, this.animals, view), 'trait');
    return newestFirst(facts, args, ({ id, body, when }) => ({
      id,
      gene: body.gene,
      state: TraitStateType[body.state],
      alleles: body.alleles === undefined ? null : [...body.alleles],
      basis: TraitBasisType[body.basis],
      certainty: body.certainty === undefined ? null : CertaintyType[body.certainty],
      edtf: when?.edtf ?? null,
    }));
  }

  @ResolveField(() => [String], {
    nullable: true,
    description: 'The taxa a hybrid descends from, as stated; null where nothing is said.',
  })
  async hybridOf(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<string[] | null> {
    if (!view.isHybrid || view.record === null) return null;
    const facts = await loadStanding(loaders, this.animals, view);
    return [...(ofKind(facts, 'hybrid').at(-1)?.body.of ?? [])];
  }

  @ResolveField(() => NoteConnection, { nullable: true, description: 'Last recorded first.' })
  async notes(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<NoteType> | null> {
    if (view.record === null) return null;
    return loadFactPage(loaders, this.facts, { viewer, view, kinds: ['note'] }, args, (fact) => ({
      id: fact.id,
      topic: NoteTopicType[fact.body.topic],
      text: fact.body.text,
      edtf: fact.when?.edtf ?? null,
    }));
  }

  /** A register number with a typing error is told so before anything is looked up. */
  private async idOf(id: string | null, registerNumber: string | null): Promise<string | null> {
    if ((id === null) === (registerNumber === null)) {
      throw invalidInput([
        { path: 'id', message: 'Give an id or a register number, one of the two.', remedy: 'Leave one of them out.' },
      ]);
    }
    if (registerNumber === null) return id !== null && isId(id) ? id : null;
    const read = parseRegisterNumber(registerNumber);
    if (!read.ok) throw invalidInput([{ path: 'registerNumber', message: read.message, remedy: read.remedy }]);
    return this.animals.findId(read.value);
  }
}

function ofKind<K extends FactKind>(facts: readonly Fact[], kind: K): Extract<Fact, { kind: K }>[] {
  return facts.filter((fact): fact is Extract<Fact, { kind: K }> => fact.kind === kind);
}
