import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
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
import { CorrectMark } from '../app/correct-mark.js';
import { EndMark } from '../app/end-mark.js';
import { RecordMark } from '../app/record-mark.js';
import { type Warning } from '../core/mark.core.js';
import { photoState } from '../core/photo.core.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { MarkReadStore } from '../store/mark-read.store.js';
import { type StoredSession } from '../store/photo.store.js';
import { loadMarkHistory, loadMarks } from './animal.loaders.js';
import { AnimalType } from './animal.types.js';
import {
  correctMarkCommand,
  CorrectMarkInput,
  CorrectMarkPayload,
  endMarkCommand,
  EndMarkInput,
  EndMarkPayload,
  recordMarkCommand,
  RecordMarkInput,
  RecordMarkPayload,
} from './mark.inputs.js';
import { showMark } from './mark.payload.js';
import {
  MarkConflictType,
  MarkType,
  MarkVersionConnection,
  MarkVersionType,
  PhotoDocumentationType,
  PhotoSessionConnection,
  PhotoSessionType,
  PhotoStandingType,
  PhotoVerdictType,
  toMarkType,
} from './mark.types.js';

const CONFLICTS = Symbol('mark conflicts');
const SESSIONS = Symbol('photo sessions');

@Resolver(() => AnimalType)
export class AnimalMarksResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly marksOf: MarkReadStore,
  ) {}

  @ResolveField(() => [MarkType], {
    nullable: true,
    description: 'Those that can be read on it, and those that ended.',
  })
  async marks(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<MarkType[] | null> {
    if (view.record === null) return null;
    const marks = await loadMarks(loaders, this.animals, view);
    return marks.map((mark) => toMarkType(mark, view.readsUntil));
  }

  @ResolveField(() => MarkVersionConnection, {
    nullable: true,
    description: 'Every version of every mark, corrected and taken back ones too; first recorded first.',
  })
  async markHistory(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<MarkVersionType> | null> {
    if (view.record === null) return null;
    const page = toPage(args, 1);
    const all = await loadMarkHistory(loaders, this.animals, view);
    const start = page.after === null ? 0 : all.findIndex((mark) => mark.versionId === page.after?.[0]) + 1;
    return toConnection(
      all.slice(start, start + page.first + 1),
      page.first,
      (mark) => [mark.versionId],
      (mark) => ({
        mark: toMarkType(mark, view.readsUntil),
        recordedAt: mark.recordedAt,
        supersededAt: mark.supersededAt,
        reason: mark.reason,
      }),
    );
  }

  @ResolveField(() => [MarkConflictType], {
    nullable: true,
    description: 'Chip numbers that another living animal carries too; seen by who has or owns this one.',
  })
  async markConflicts(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<MarkConflictType[] | null> {
    if (view.level !== 'full') return null;
    const loader = loaders.get<string, MarkConflictType[]>(
      CONFLICTS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.marksOf.findConflicts(ids);
          return ids.map((id) =>
            (found.get(id) ?? []).map(({ openedAt: since, ...conflict }) => ({ ...conflict, since })),
          );
        }),
    );
    return loader.load(view.id);
  }
}

@Resolver(() => MarkType)
export class MarkResolver {
  constructor(
    private readonly marksOf: MarkReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => PhotoDocumentationType, { nullable: true, description: 'Of a photo documentation.' })
  async photos(
    @Parent() { mark, readsUntil }: MarkType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<PhotoDocumentationType | null> {
    const { fixedView, withScale, intervalDays } = mark;
    if (fixedView === null || withScale === null || intervalDays === null) return null;
    const sessions = await loadSessions(loaders, this.marksOf, mark.id, readsUntil);
    const said = sessions.flatMap((session) => session.comparisons);
    const state = photoState(intervalDays, sessions, said, this.clock.today());
    return {
      fixedView,
      withScale,
      intervalDays,
      ...state,
      standing: PhotoStandingType[state.standing],
      mark,
      until: readsUntil,
    };
  }
}

@Resolver(() => PhotoDocumentationType)
export class PhotoDocumentationResolver {
  constructor(private readonly marksOf: MarkReadStore) {}

  @ResolveField(() => PhotoSessionConnection, { description: 'Last taken first.' })
  async sessions(
    @Parent() { mark, until }: PhotoDocumentationType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<PhotoSessionType>> {
    const page = toPage(args, 1);
    const all = (await loadSessions(loaders, this.marksOf, mark.id, until)).toReversed();
    const start = page.after === null ? 0 : all.findIndex((session) => session.id === page.after?.[0]) + 1;
    return toConnection(
      all.slice(start, start + page.first + 1),
      page.first,
      (session) => [session.id],
      ({ id, takenOn, fileIds, comparisons }) => ({
        fileIds: [...fileIds],
        id,
        takenOn,
        comparisons: comparisons.map(({ earlierSessionId, verdict, confirmedBy }) => ({
          earlierSessionId,
          verdict: PhotoVerdictType[verdict],
          own: confirmedBy === viewer.accountId,
        })),
      }),
    );
  }
}

/** The sessions of a mark that are shown, by day, each with the comparisons that are. */
async function loadSessions(
  loaders: RequestLoaders,
  store: MarkReadStore,
  markId: string,
  until: Date | null,
): Promise<StoredSession[]> {
  const loader = loaders.get<string, StoredSession[]>(
    SESSIONS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findSessions(ids);
        return ids.map((id) => found.get(id) ?? []);
      }),
  );
  const all = await loader.load(markId);
  if (until === null) return all;
  return all
    .filter((session) => session.recordedAt <= until)
    .map((session) => ({ ...session, comparisons: session.comparisons.filter((each) => each.recordedAt <= until) }));
}

@Resolver()
export class RecordMarkResolver {
  constructor(
    private readonly record: RecordMark,
    private readonly end: EndMark,
    private readonly correct: CorrectMark,
    private readonly animals: AnimalReadStore,
    private readonly marksOf: MarkReadStore,
  ) {}

  @Mutation(() => RecordMarkPayload, { description: 'Adds a mark to an animal an own keeper has or owns.' })
  @Authorize('animal.record-mark')
  async recordMark(@CurrentViewer() viewer: Viewer, @Args('input') input: RecordMarkInput): Promise<RecordMarkPayload> {
    const { command, warnings } = parseInput(recordMarkCommand, input);
    return this.show(viewer, await this.record.execute(viewer, command), warnings);
  }

  @Mutation(() => EndMarkPayload, { description: 'Ends a mark that can no longer be read; it stays in the history.' })
  @Authorize('animal.record-mark')
  async endMark(@CurrentViewer() viewer: Viewer, @Args('input') input: EndMarkInput): Promise<EndMarkPayload> {
    return this.show(viewer, await this.end.execute(viewer, parseInput(endMarkCommand, input)));
  }

  @Mutation(() => CorrectMarkPayload, { description: 'Corrects a mark, or takes it back, with a reason.' })
  @Authorize('animal.record-mark')
  async correctMark(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectMarkInput,
  ): Promise<CorrectMarkPayload> {
    return this.show(viewer, await this.correct.execute(viewer, parseInput(correctMarkCommand, input)));
  }

  private async show(
    viewer: Viewer,
    done: { readonly animalId: string; readonly markId: string },
    warnings: readonly Warning[] = [],
  ) {
    const shown = await showMark(this.animals, this.marksOf, viewer, done, warnings);
    if (shown === null) throw notFound('animal');
    return shown;
  }
}
