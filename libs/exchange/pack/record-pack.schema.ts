import { z } from 'zod';
import {
  ACQUISITION_MANNERS,
  BIRTH_MANNERS,
  CERTAINTIES,
  FATES,
  LENGTH_MEASURES,
  MARK_KINDS,
  ORIGIN_CLASSES,
  SEXES,
  TEMPERATURE_PLACES,
  TRAIT_BASES,
  TRAIT_STATES,
} from '../../animal/index.js';
import { EGG_STATES, TOLD_TO_ALL } from '../../breeding/index.js';
import { PARENTAGE_BASES } from '../../lineage/index.js';

/** What the form is known by on every server: it does not depend on where it was fetched. A changed form gets another number. */
export const PACK_FORM = 'urn:kithbook:record-pack:1';
/** Most relatives of one pack, and how many generations back they are looked for. */
export const PACK_BOUNDS = { relatives: 2000, generations: 40 } as const;

const day = z
  .string()
  .regex(/^\d{4}-\d{2}-\d{2}$/)
  .meta({ id: 'day', description: 'A day, ISO 8601.' });
const moment = z.iso.datetime().meta({ id: 'moment', description: 'A moment, ISO 8601, UTC.' });
const when = z
  .strictObject({
    edtf: z.string().meta({ description: 'As written: EDTF level 1 (ISO 8601-2).' }),
    earliest: day.nullable(),
    latest: day.nullable(),
  })
  .nullable()
  .meta({ id: 'when', description: 'When something was so; null: the day is not known.' });
const ref = z
  .string()
  .regex(/^r[1-9]\d*$/)
  .meta({ id: 'ref', description: 'Name of an animal or lot within this pack; says nothing outside it.' });
const sha256 = z
  .string()
  .regex(/^[0-9a-f]{64}$/)
  .meta({ id: 'sha256' });
const path = z.string().meta({ description: 'Where the bytes lie within the archive.' });
const probability = z.number().gt(0).lte(1);
const controlled = z
  .enum(['yes', 'no', 'unknown'])
  .meta({ id: 'controlled', description: 'Whether it was in a controlled environment, as recorded.' });
const superseded = z
  .strictObject({ at: moment, reason: z.string().nullable() })
  .nullable()
  .meta({ id: 'superseded', description: 'Null while it is in force.' });

const said = {
  no: z.int().positive().meta({ description: 'Counts the facts of one animal, in the order they were recorded.' }),
  when,
  recordedAt: moment,
  superseded: z
    .strictObject({
      at: moment,
      reason: z.string().nullable(),
      by: z.int().nullable().meta({ description: 'The fact that took its place; null: it was taken back.' }),
    })
    .nullable()
    .meta({ id: 'factSuperseded', description: 'Null while it is in force.' }),
};
const certainty = z.enum(CERTAINTIES).optional();
const kind = <K extends string, S extends z.ZodRawShape>(name: K, body: S) =>
  z.strictObject({ kind: z.literal(name), ...said, body: z.strictObject(body) });

/** Every version of every fact; who said it, or found an animal, is left out. */
const fact = z.discriminatedUnion('kind', [
  kind('birth', { manner: z.enum(BIRTH_MANNERS) }),
  kind('sex', { sex: z.enum(SEXES), method: z.string().optional(), confidence: certainty }),
  kind('origin', { originClass: z.enum(ORIGIN_CLASSES) }),
  kind('acquisition', { manner: z.enum(ACQUISITION_MANNERS), country: z.string().optional() }),
  kind('name', { name: z.string() }),
  kind('seen', {}),
  kind('fate', { fate: z.enum(FATES), cause: z.string().optional(), certainty }),
  kind('weight', { grams: z.number() }),
  kind('length', { measure: z.enum(LENGTH_MEASURES), millimetres: z.number() }),
  kind('temperature', { celsius: z.number(), of: z.enum(TEMPERATURE_PLACES) }),
  kind('note', { topic: z.enum(['care', 'health']), text: z.string() }),
  kind('trait', {
    gene: z.string(),
    state: z.enum(TRAIT_STATES),
    alleles: z.array(z.string()).optional(),
    basis: z.enum(TRAIT_BASES),
    certainty,
  }),
  kind('hybrid', { of: z.array(z.string()) }),
]);

const mark = z.strictObject({
  series: z.int().positive().meta({ description: 'Versions with one number are corrections of one mark.' }),
  kind: z.enum(MARK_KINDS),
  value: z.string(),
  size: z.string().nullable(),
  fixedView: z.string().nullable(),
  withScale: z.boolean().nullable(),
  intervalDays: z.int().nullable(),
  when,
  until: when.meta({ description: 'Null while it can be read.' }),
  endCause: z.string().nullable(),
  recordedAt: moment,
  superseded,
  sessions: z
    .array(
      z.strictObject({
        takenOn: day,
        pictures: z.array(sha256),
        comparisons: z.array(z.strictObject({ earlierOn: day, verdict: z.string() })),
        recordedAt: moment,
      }),
    )
    .meta({ description: 'Of a photo documentation: when pictures were taken anew, and what people said of them.' }),
});

const parentage = {
  role: z.enum(['sire', 'dam']),
  basis: z.enum(PARENTAGE_BASES),
  withoutSire: z.boolean().meta({ description: 'It developed without a sire.' }),
  candidates: z
    .array(z.strictObject({ ref, probability }))
    .meta({ description: 'Empty with `withoutSire`; otherwise the probabilities sum to 1.' }),
};
const claim = z.strictObject({
  ...parentage,
  when,
  evidence: z.string().nullable().meta({ description: 'For whoever has or owns the animal; null for others.' }),
  recordedAt: moment,
  superseded,
});

const eggEvent = {
  kind: z.string(),
  celsius: z.number().nullable(),
  candling: z.string().nullable(),
  when,
  recordedAt: moment,
};

const breeders = z
  .array(
    z.strictObject({
      breeder: z.enum(['keeper', 'outside_party', 'unknown']),
      own: z.boolean(),
      sure: z.enum(['yes', 'possible']),
      why: z.array(z.enum(TOLD_TO_ALL)),
    }),
  )
  .meta({
    id: 'breeders',
    description:
      'Who bred the young by the records: whoever owned the dam at the mating, co-owners together. Nobody is named.',
  });

const clutch = z.strictObject({
  as: z.enum(['dam', 'young']).meta({ description: 'Whether the animal laid it, or may have, or came out of it.' }),
  kind: z.enum(['eggs', 'born']),
  dams: z.array(z.strictObject({ ref, probability })),
  eggCount: z.int().nullable(),
  controlled,
  laid: when,
  foundOn: day.nullable(),
  recordedAt: moment,
  breeders,
  eggEvents: z.array(
    z.strictObject({
      egg: z.int().nullable().meta({ description: 'Null: every egg that was left.' }),
      ...eggEvent,
    }),
  ),
  young: z
    .array(z.strictObject({ ref, egg: z.int().nullable(), controlled, when, recordedAt: moment }))
    .meta({ description: 'Of the clutch an animal came out of, itself alone.' }),
});

const eggs = z
  .strictObject({
    scientificName: z.string(),
    controlled,
    laid: when,
    foundOn: day.nullable(),
    dams: z.array(z.strictObject({ ref, probability })),
    damBasis: z.enum(PARENTAGE_BASES).nullable(),
    sires: z.array(z.strictObject({ ref, probability })).nullable().meta({
      description: 'Who can have sired them by the records the reader reads; null for whoever has them no more.',
    }),
    sireBasis: z.enum(PARENTAGE_BASES).nullable(),
    breeders,
    countedTo: day.meta({ description: 'The day to which the days of incubation are counted.' }),
    eggs: z.array(
      z.strictObject({
        number: z.int().positive(),
        state: z.enum(EGG_STATES),
        topMarked: z
          .boolean()
          .meta({ description: 'It is marked which side is up. Turning an egg can kill the embryo.' }),
        place: z.enum(['enclosure', 'incubator']).nullable(),
        celsius: z.number().nullable().meta({ description: 'As recorded last.' }),
        incubatedDays: z.strictObject({ least: z.int(), most: z.int().nullable() }).nullable(),
        arrival: z.string().nullable(),
        receivedOn: day.nullable(),
        events: z.array(z.strictObject(eggEvent)),
      }),
    ),
  })
  .meta({ description: 'Eggs that go, or went, with a transfer, by the clutch they are of.' });

const merge = z.strictObject({
  as: z.enum(['kept', 'merged']).meta({ description: 'Whether this record went on, or went on in the other.' }),
  other: ref,
  because: z.string(),
  recordedAt: moment,
  undone: superseded,
});

const animal = z.strictObject({
  ref,
  registerNumber: z.string(),
  kind: z.enum(['individual', 'lot']),
  taxon: z.strictObject({
    scientificName: z.string(),
    commonName: z.string(),
    className: z.string(),
    orderName: z.string(),
    nameSource: z.string().meta({ description: 'Where the names are taken from, with the version.' }),
  }),
  line: z.string().nullable(),
  count: z.int().min(0),
  countEstimated: z.boolean(),
  founder: z
    .boolean()
    .nullable()
    .meta({ description: 'Its line begins with it, as declared; null for a past holder.' }),
  readsUntil: moment.nullable().meta({ description: 'For a past holder: nothing recorded later is here.' }),
  facts: z.array(fact),
  marks: z.array(mark),
  parents: z.array(claim),
  merges: z.array(merge).meta({ description: 'Two records of one animal that became one, undone ones too.' }),
  outOfLot: z.strictObject({ lot: ref, by: z.enum(['raised', 'split']), on: day, recordedAt: moment }).nullable(),
  countChanges: z
    .array(z.strictObject({ cause: z.string(), delta: z.int(), estimated: z.boolean(), on: day, recordedAt: moment }))
    .meta({ description: 'Of a lot; they sum to its count.' }),
  matings: z.array(
    z.strictObject({
      dam: ref,
      sire: ref.nullable(),
      basis: z.enum(PARENTAGE_BASES),
      controlled,
      when,
      recordedAt: moment,
    }),
  ),
  clutches: z.array(clutch),
  quarantines: z.array(
    z.strictObject({
      days: z.int(),
      restartScope: z.string(),
      enteredOn: day,
      leftOn: day.nullable().meta({ description: 'Half-open: the first day on which it was out.' }),
      restartedOn: z.array(day).meta({ description: 'When newcomers started its days anew.' }),
      recordedAt: moment,
    }),
  ),
  documents: z.array(
    z.strictObject({
      kind: z.string(),
      permitForm: z.string().nullable(),
      number: z.string(),
      authority: z.string(),
      jurisdiction: z.string(),
      validFrom: day.nullable(),
      validUntil: day.nullable(),
      recordedAt: moment,
      files: z.array(z.strictObject({ sha256, mediaType: z.string(), size: z.int(), path })),
    }),
  ),
  pictures: z
    .array(
      z.strictObject({
        sha256,
        size: z.int(),
        width: z.int(),
        height: z.int(),
        caption: z.string().nullable(),
        taken: z.string().nullable().meta({ description: 'As the keeper says, EDTF.' }),
        recordedAt: moment,
        path,
      }),
    )
    .meta({ description: 'The copies without place and camera.' }),
  custody: z
    .array(
      z.strictObject({
        holder: z.string().meta({ description: 'What kind of holder; other people are not named.' }),
        own: z.boolean(),
        name: z.string().nullable().meta({ description: 'Of an own keeper alone.' }),
        from: day,
        to: day.nullable(),
        arrivedBy: z.string(),
        leftBy: z.string().nullable(),
        recordedAt: moment,
      }),
    )
    .meta({ description: 'Half-open days.' }),
  ownership: z.array(
    z.strictObject({
      state: z.string(),
      from: day,
      to: day.nullable(),
      shares: z.array(z.strictObject({ owner: z.string(), own: z.boolean(), parts: z.int() })),
      recordedAt: moment,
    }),
  ),
});

const relative = z
  .strictObject({
    ref,
    registerNumber: z.string().nullable(),
    kind: z.enum(['individual', 'lot']),
    scientificName: z.string(),
    line: z.string().nullable(),
    sex: z.enum(SEXES),
    birthYear: z.int().nullable(),
    originClass: z.enum(ORIGIN_CLASSES),
    parents: z.array(z.strictObject(parentage)),
  })
  .meta({
    description:
      'An ancestor, mate, young or lot, as lineage is shared. One that is not shared has its place and its sex, and nothing to tell it by. Only ancestors have parents.',
  });

/** The record of animals as its reader may read it, to be kept, printed or read by another registry. */
export const recordPack = z.strictObject({
  form: z.literal(PACK_FORM),
  animals: z.array(animal),
  eggs: z.array(eggs),
  relatives: z.array(relative),
  ancestryComplete: z.boolean().meta({ description: 'False where more ancestors are recorded than the pack holds.' }),
});

export type RecordPack = z.infer<typeof recordPack>;
export type PackEggs = RecordPack['eggs'][number];
export type PackBreeder = z.infer<typeof breeders>[number];
export type PackAnimal = RecordPack['animals'][number];

/** The published JSON Schema (draft 2020-12) of a pack. */
export function recordPackJsonSchema(): object {
  const { $schema, ...form } = z.toJSONSchema(recordPack);
  return { $schema, $id: PACK_FORM, title: 'Record pack', ...form };
}
