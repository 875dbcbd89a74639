import { z } from 'zod';
import { type Day } from '../../kernel/index.js';
import { PAPER_VERSION, type PaperContent } from './record-paper.core.js';

const bredBy = z
  .array(
    z.strictObject({
      who: z.enum(['giver', 'receiver', 'somebody_else', 'not_known']),
      sure: z.enum(['yes', 'possible']),
    }),
  )
  .optional();

const paperAnimal = z.strictObject({
  animalId: z.uuid(),
  registerNumber: z.string(),
  kind: z.enum(['individual', 'lot']),
  scientificName: z.string(),
  commonName: z.string(),
  sex: z.enum(['male', 'female', 'unknown']),
  sexMethod: z.string().nullable(),
  sexConfidence: z.string().nullable(),
  birthManner: z.enum(['hatched', 'born', 'metamorphosed', 'unknown']),
  birthEdtf: z.string().nullable(),
  sires: z.array(z.string()),
  dams: z.array(z.string()),
  originClass: z.enum(['bred', 'wild', 'ranched', 'unknown']),
  originClaimedBy: z.enum(['giver', 'receiver', 'earlier_keeper', 'nobody']),
  marks: z.array(z.strictObject({ kind: z.string(), value: z.string() })),
  lastWeight: z.strictObject({ grams: z.number(), on: z.string().nullable() }).nullable(),
  count: z.int(),
  countEstimated: z.boolean(),
  bredBy,
});

const storedDay = z.custom<Day>((value) => typeof value === 'string');

const paperEggs = z.strictObject({
  clutchId: z.uuid(),
  scientificName: z.string(),
  commonName: z.string(),
  laidEdtf: z.string().nullable(),
  clutchSize: z.int().nullable(),
  eggs: z.array(
    z.strictObject({
      number: z.int(),
      topMarked: z.boolean(),
      incubatedFrom: z.strictObject({ earliest: storedDay.nullable(), latest: storedDay.nullable() }).nullable(),
    }),
  ),
  celsius: z.strictObject({ lowest: z.number(), highest: z.number() }).nullable(),
  sires: z.array(z.string()),
  dams: z.array(z.string()),
  bredBy,
});

/** Content of a stored paper, version 1. Papers are read for ever: a changed form gets a schema of its own. */
export const paperContent: z.ZodType<PaperContent> = z.strictObject({
  version: z.literal(PAPER_VERSION),
  showsGiver: z.boolean(),
  animals: z.array(paperAnimal),
  eggs: z.array(paperEggs).optional(),
});
