import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { type Day, type Viewer } from '../../kernel/index.js';
import {
  type ConnectionOf,
  CurrentViewer,
  DayType,
  Loaders,
  PageArgs,
  RequestLoaders,
} from '../../platform/graphql/index.js';
import { marksAsOf, recordAsOf } from '../core/record-as-of.core.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { FactHistoryStore } from '../store/fact-history.store.js';
import { FactPageStore } from '../store/fact-page.store.js';
import { BirthMannerType, FateType, NoteTopicType, OriginClassType, SexType } from './animal.enums.js';
import { loadMarkHistory } from './animal.loaders.js';
import { AnimalType, NoteConnection, type NoteType } from './animal.types.js';
import { loadVersions } from './fact-history.loaders.js';
import { loadVersionPage, newestFirst } from './fact-page.js';
import { toMarkType } from './mark.types.js';
import { MeasurementConnection, type MeasurementType, toMeasurementType } from './measurement.types.js';
import {
  FactVersionConnection,
  type FactVersionType,
  RecordAsOfType,
  toFactVersionType,
} from './record-as-of.types.js';

/** The record of an animal in both times: when things happened, and when they were recorded. */
@Resolver(() => AnimalType)
export class RecordHistoryResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly history: FactHistoryStore,
    private readonly pages: FactPageStore,
  ) {}

  @ResolveField(() => RecordAsOfType, {
    nullable: true,
    description:
      'What was believed at a moment about a day of its life; both left out = what is believed now. A past holder reads nothing later than their own; an animal that is offered shows no earlier belief.',
  })
  async record(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args('asKnownAt', { type: () => Date, nullable: true }) asKnownAt?: Date | null,
    @Args('asOf', { type: () => DayType, nullable: true }) asOf?: Day | null,
  ): Promise<RecordAsOfType | null> {
    const asked = asKnownAt ?? null;
    const asItIs = view.level === 'offered' || view.level === 'guest';
    if (view.record === null || (asItIs && asked !== null)) return null;
    // What a past holder may not read is not in the versions they are given, so a later moment tells them no more.
    const versions = await loadVersions(loaders, this.history, viewer, view);
    const facts = asItIs ? versions.filter((fact) => fact.supersededAt === null) : versions;
    const marks = await loadMarkHistory(loaders, this.animals, view);
    const on = asOf ?? null;
    const then = recordAsOf(facts, asked, on);
    return {
      asKnownAt: asked,
      asOf: on,
      born: then.born === 'possible' ? null : then.born === 'yes',
      name: then.name,
      sex: SexType[then.sex],
      birth: then.birth === null ? null : { ...then.birth, manner: BirthMannerType[then.birth.manner] },
      originClass: OriginClassType[then.originClass],
      isHybrid: then.isHybrid,
      fate: FateType[then.fate],
      fateEdtf: then.fateWhen?.edtf ?? null,
      fatePossibly: then.fatePossibly === null ? null : FateType[then.fatePossibly],
      lastSeenOn: then.lastSeenOn,
      marks: marksAsOf(marks, asked, on).map((mark) => toMarkType(mark, view.readsUntil)),
      events: then.events,
    };
  }

  @ResolveField(() => FactVersionConnection, {
    nullable: true,
    description:
      'Every fact that was ever recorded, corrected and withdrawn ones too, last recorded first; for who has or owns the animal.',
  })
  async factHistory(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<FactVersionType> | null> {
    if (view.level !== 'full') return null;
    return loadVersionPage(loaders, this.pages, { viewer, view }, args, toFactVersionType);
  }
}

/** The lists of a past record. */
@Resolver(() => RecordAsOfType)
export class RecordAsOfResolver {
  @ResolveField(() => MeasurementConnection, { description: 'Last recorded first.' })
  measurements(@Parent() { events }: RecordAsOfType, @Args() args: PageArgs): ConnectionOf<MeasurementType> {
    const measured = events.flatMap((fact) => toMeasurementType(fact) ?? []);
    return newestFirst(measured, args, (each) => each);
  }

  @ResolveField(() => NoteConnection, { description: 'Last recorded first.' })
  notes(@Parent() { events }: RecordAsOfType, @Args() args: PageArgs): ConnectionOf<NoteType> {
    const notes = events.flatMap((fact) =>
      fact.kind === 'note'
        ? [{ id: fact.id, topic: NoteTopicType[fact.body.topic], text: fact.body.text, edtf: fact.when?.edtf ?? null }]
        : [],
    );
    return newestFirst(notes, args, (each) => each);
  }
}
