import { Args, Field, ID, InputType, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalReadStore, AnimalType, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { ClaimWarningType } from '../../lineage/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { MergeRecords } from '../app/merge-records.js';
import { UndoMerge } from '../app/undo-merge.js';

@InputType()
export class MergeRecordsInput {
  @Field(() => ID, { description: 'The record that stays.' })
  keepId!: string;

  @Field(() => ID, { description: 'The record of the same animal that goes on in it.' })
  mergeId!: string;

  @Field(() => String, { description: 'What shows that the two are one animal.' })
  reason!: string;
}

@ObjectType()
export class MergeRecordsPayload {
  @Field(() => AnimalType, { description: 'The record kept.' })
  animal!: AnimalType;

  @Field(() => AnimalType, { description: 'The record merged into it.' })
  merged!: AnimalType;

  @Field(() => [ClaimWarningType])
  warnings!: ClaimWarningType[];
}

@InputType()
export class UndoMergeInput {
  @Field(() => ID, { description: 'The record that was merged into another one.' })
  mergedId!: string;

  @Field(() => String, { description: 'Why the two are not one animal after all.' })
  reason!: string;
}

@ObjectType({
  description: 'Both records stand as before; what was recorded on the one kept since the merge stays there.',
})
export class UndoMergePayload {
  @Field(() => AnimalType, { description: 'The record that was kept.' })
  animal!: AnimalType;

  @Field(() => AnimalType, {
    nullable: true,
    description:
      'The record that stands for itself again, with whoever had it; null where it is not shown to the viewer.',
  })
  restored!: AnimalType | null;
}

const reason = z
  .string()
  .trim()
  .min(1, 'A reason is needed. | Write one.')
  .max(500, 'This is longer than 500 characters. | Shorten it.');
const mergeRecordsCommand = z.object({ keepId: idInput, mergeId: idInput, reason });
const undoMergeCommand = z.object({ mergedId: idInput, reason });

@Resolver()
export class MergeResolver {
  constructor(
    private readonly mergeUseCase: MergeRecords,
    private readonly undoUseCase: UndoMerge,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => MergeRecordsPayload, {
    description: 'Merges two records of one animal that own keepers have. Can be undone.',
  })
  @Authorize('custody.merge-records')
  async mergeRecords(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: MergeRecordsInput,
  ): Promise<MergeRecordsPayload> {
    const { keepId, mergeId, warnings } = await this.mergeUseCase.execute(
      viewer,
      parseInput(mergeRecordsCommand, input),
    );
    const [animal, merged] = await this.show(viewer, [keepId, mergeId]);
    if (!animal || !merged) throw notFound('animal');
    return { animal, merged, warnings };
  }

  @Mutation(() => UndoMergePayload, { description: 'Undoes a merge, for whoever has or owns the record kept.' })
  @Authorize('custody.merge-records')
  async undoMerge(@CurrentViewer() viewer: Viewer, @Args('input') input: UndoMergeInput): Promise<UndoMergePayload> {
    const { keptId, mergedId } = await this.undoUseCase.execute(viewer, parseInput(undoMergeCommand, input));
    const [animal, restored] = await this.show(viewer, [keptId, mergedId]);
    if (!animal) throw notFound('animal');
    return { animal, restored: restored ?? null };
  }

  private async show(viewer: Viewer, ids: readonly string[]): Promise<(AnimalType | null)[]> {
    const views = await this.animals.findVisible(viewer, ids);
    return ids.map((id) => {
      const view = views.get(id);
      return view === undefined ? null : toAnimalType(view);
    });
  }
}
