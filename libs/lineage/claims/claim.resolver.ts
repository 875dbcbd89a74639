import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { z } from 'zod';
import { AnimalReadStore, AnimalType, type AnimalView, loadAnimal, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { ClaimReadStore, type FullClaim } from './claim-read.store.js';
import { recordParentCommand } from './claim.schema.js';
import {
  DeclareFounderInput,
  DeclareFounderPayload,
  ParentageClaimConnection,
  ParentageClaimType,
  ParentCandidateType,
  RecordParentInput,
  RecordParentPayload,
} from './claim.types.js';
import { candidatesShown, claimsShown } from './claims-shown.core.js';
import { DeclareFounder } from './declare-founder.js';
import { ParentageBasisType, ParentRoleType } from '../questions/lineage.types.js';
import { type ParentRole } from './parentage.core.js';
import { RecordParent } from './record-parent.js';

const FULL_CLAIMS = Symbol('full claims');
const MERGED = Symbol('merged records');

const declareFounderCommand = z.object({
  animalId: idInput,
  founder: z.boolean(),
  reason: z.string().trim().min(1, 'A reason is needed. | Write one.').max(500),
});

const UNKNOWN_PARENT = 'Null when unknown, not certain or not shown; `parentage` tells them apart.';

/** Parents of an animal as they are claimed, and the writes that claim them. */
@Resolver(() => AnimalType)
export class ClaimResolver {
  constructor(
    private readonly claims: ClaimReadStore,
    private readonly animals: AnimalReadStore,
    private readonly record: RecordParent,
    private readonly declare: DeclareFounder,
  ) {}

  @Mutation(() => RecordParentPayload, {
    description: 'Records, corrects or takes back one parent of an animal an own keeper has or owns.',
  })
  @Authorize('lineage.record-parent')
  async recordParent(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordParentInput,
  ): Promise<RecordParentPayload> {
    const { animalId, warnings } = await this.record.execute(viewer, parseInput(recordParentCommand, input));
    return { animal: await this.show(viewer, animalId), warnings };
  }

  @Mutation(() => DeclareFounderPayload, {
    description: 'Declares that the line of an animal begins with it in this registry, or takes that back.',
  })
  @Authorize('lineage.declare-founder')
  async declareFounder(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: DeclareFounderInput,
  ): Promise<DeclareFounderPayload> {
    const { animalId } = await this.declare.execute(viewer, parseInput(declareFounderCommand, input));
    return { animal: await this.show(viewer, animalId) };
  }

  @ResolveField(() => AnimalType, { nullable: true, description: UNKNOWN_PARENT })
  async sire(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.certainParent(view, 'sire', viewer, loaders);
  }

  @ResolveField(() => AnimalType, { nullable: true, description: UNKNOWN_PARENT })
  async dam(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.certainParent(view, 'dam', viewer, loaders);
  }

  @ResolveField(() => [ParentageClaimType], {
    description: 'The claims in force on its parents, sire before dam; for a past holder those of the day it left.',
  })
  async parentage(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<ParentageClaimType[]> {
    const claims = claimsShown(view.id, await this.load(loaders, view.id), view.readsUntil);
    return Promise.all(claims.map(async (claim) => this.toType(claim, view, viewer, loaders)));
  }

  @ResolveField(() => ParentageClaimConnection, {
    nullable: true,
    description: 'Every claim ever made on its parents, last recorded first; for those who have or own it.',
  })
  async parentageHistory(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ParentageClaimType> | null> {
    if (view.level !== 'full') return null;
    const page = toPage(args, 1);
    const newest = (await this.load(loaders, view.id)).filter(({ ownerId }) => ownerId === view.id).toReversed();
    const after = page.after?.[0];
    const start = after === undefined ? 0 : newest.findIndex(({ id }) => id === after) + 1;
    const shown = newest.slice(start, start + page.first + 1);
    const types = await Promise.all(shown.map(async (claim) => this.toType(claim, view, viewer, loaders)));
    return toConnection(
      types,
      page.first,
      ({ id }) => [id],
      (type) => type,
    );
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description: 'The record of the same animal that goes on in the place of this one.',
  })
  async mergedInto(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return view.mergedIntoId === null ? null : this.shown(view.mergedIntoId, viewer, loaders);
  }

  @ResolveField(() => [AnimalType], {
    nullable: true,
    description: 'Records of the same animal that were merged into this one; for those who have or own it.',
  })
  async mergedRecords(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType[] | null> {
    if (view.level !== 'full') return null;
    const loader = loaders.get<string, string[]>(
      MERGED,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.claims.findMergedRecords(ids);
          return ids.map((each) => found.get(each) ?? []);
        }),
    );
    const records = await Promise.all((await loader.load(view.id)).map(async (id) => this.shown(id, viewer, loaders)));
    return records.filter((each) => each !== null);
  }

  private async certainParent(
    view: AnimalView,
    role: ParentRole,
    viewer: Viewer,
    loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const claims = claimsShown(view.id, await this.load(loaders, view.id), view.readsUntil);
    const claim = claims.find((each) => each.role === role);
    const [parent, ...others] = claim === undefined ? [] : candidatesShown(claim, view.readsUntil);
    return parent === undefined || others.length > 0 ? null : this.shown(parent.id, viewer, loaders);
  }

  private async toType(
    claim: FullClaim,
    view: AnimalView,
    viewer: Viewer,
    loaders: RequestLoaders,
  ): Promise<ParentageClaimType> {
    const until = view.readsUntil;
    const candidates = candidatesShown(claim, until).map(async ({ id, probability }): Promise<ParentCandidateType> => {
      const animal = await this.shown(id, viewer, loaders);
      return { probability, shown: animal !== null, animal };
    });
    const own = view.level === 'full' || view.level === 'past';
    // Why and when a claim was superseded after the animal left is not a past holder's to read.
    const superseded = view.level === 'full';
    return {
      id: claim.id,
      role: ParentRoleType[claim.role],
      basis: ParentageBasisType[claim.basis],
      withoutSire: claim.withoutSire,
      candidates: await Promise.all(candidates),
      when: view.record === null ? null : claim.when,
      evidence: own ? claim.evidence : null,
      recordedAt: claim.recordedAt,
      supersededAt: superseded ? claim.supersededAt : null,
      reason: superseded ? claim.reason : null,
    };
  }

  private async load(loaders: RequestLoaders, animalId: string): Promise<FullClaim[]> {
    const loader = loaders.get<string, FullClaim[]>(
      FULL_CLAIMS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.claims.findAll(ids);
          return ids.map((each) => found.get(each) ?? []);
        }),
    );
    return loader.load(animalId);
  }

  private async shown(id: string, viewer: Viewer, loaders: RequestLoaders): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, id);
    return view === null ? null : toAnimalType(view);
  }

  private async show(viewer: Viewer, id: string): Promise<AnimalType> {
    const view = (await this.animals.findVisible(viewer, [id])).get(id);
    if (view === undefined) throw notFound('animal');
    return toAnimalType(view);
  }
}
