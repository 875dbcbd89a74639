import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { ConfirmPhotoComparison } from '../app/confirm-photo-comparison.js';
import { RecordPhotoSession } from '../app/record-photo-session.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { MarkReadStore } from '../store/mark-read.store.js';
import {
  confirmPhotoComparisonCommand,
  ConfirmPhotoComparisonInput,
  ConfirmPhotoComparisonPayload,
  recordPhotoSessionCommand,
  RecordPhotoSessionInput,
  RecordPhotoSessionPayload,
  takeBackPhotoSessionCommand,
  TakeBackPhotoSessionInput,
  TakeBackPhotoSessionPayload,
} from './mark.inputs.js';
import { showMark } from './mark.payload.js';

@Resolver()
export class PhotoResolver {
  constructor(
    private readonly sessions: RecordPhotoSession,
    private readonly comparison: ConfirmPhotoComparison,
    private readonly animals: AnimalReadStore,
    private readonly marks: MarkReadStore,
  ) {}

  @Mutation(() => RecordPhotoSessionPayload, {
    description: 'Records that the pictures of a photo documentation were taken anew.',
  })
  @Authorize('animal.record-mark')
  async recordPhotoSession(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordPhotoSessionInput,
  ): Promise<RecordPhotoSessionPayload> {
    const done = await this.sessions.execute(viewer, parseInput(recordPhotoSessionCommand, input));
    return { ...(await this.show(viewer, done)), sessionId: done.sessionId };
  }

  @Mutation(() => TakeBackPhotoSessionPayload, {
    description: 'Takes a session back that was recorded by mistake, and the comparisons it is in.',
  })
  @Authorize('animal.record-mark')
  async takeBackPhotoSession(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: TakeBackPhotoSessionInput,
  ): Promise<TakeBackPhotoSessionPayload> {
    return this.show(viewer, await this.sessions.takeBack(viewer, parseInput(takeBackPhotoSessionCommand, input)));
  }

  @Mutation(() => ConfirmPhotoComparisonPayload, {
    description: 'One person says whether two sessions show one animal. Two different people make a confirmation.',
  })
  @Authorize('animal.compare-photos')
  async confirmPhotoComparison(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ConfirmPhotoComparisonInput,
  ): Promise<ConfirmPhotoComparisonPayload> {
    return this.show(viewer, await this.comparison.execute(viewer, parseInput(confirmPhotoComparisonCommand, input)));
  }

  private async show(viewer: Viewer, done: { readonly animalId: string; readonly markId: string }) {
    const shown = await showMark(this.animals, this.marks, viewer, done, []);
    if (shown === null) throw notFound('animal');
    return shown;
  }
}
