import { z } from 'zod';
import { animalNumber, day, moment } from './parts.schema.js';

/** The keeper, its people and clubs, and the account that exports. */
export const person = {
  /** The account that exports: what is here is its own, whatever keeper is exported. */
  account: z.strictObject({
    email: z.string(),
    openedAt: moment,
    emailConfirmedAt: moment.nullable(),
    /** Sign-ins, ended ones too. */
    sessions: z.array(
      z.strictObject({
        device: z.string().nullable(),
        createdAt: moment,
        renewedAt: moment,
        expiresAt: moment,
        endedAt: moment.nullable(),
        endedBy: z.string().nullable(),
      }),
    ),
    /** Keepers it acts or acted for. */
    memberships: z.array(
      z.strictObject({ keeper: z.string(), role: z.string(), since: moment, endedAt: moment.nullable() }),
    ),
    /** How notices are mailed, where the person chose. */
    mailChoices: z.array(z.strictObject({ group: z.string(), pace: z.string() })),
  }),
  keeper: z.strictObject({
    id: z.uuid(),
    name: z.string(),
    kind: z.string(),
    region: z.string().nullable(),
    holdingsShown: z.string(),
    lineageShared: z.boolean(),
    minorUntil: day.nullable(),
  }),
  /** Who acts or acted for the keeper; of those who do no longer, without the address. */
  people: z.array(
    z.strictObject({ email: z.string().nullable(), role: z.string(), since: moment, endedAt: moment.nullable() }),
  ),
  /** Invitations to act for the keeper; one that is over keeps no address. */
  invitations: z.array(
    z.strictObject({
      email: z.string().nullable(),
      role: z.string(),
      createdAt: moment,
      expiresAt: moment,
      acceptedAt: moment.nullable(),
      withdrawnAt: moment.nullable(),
    }),
  ),
  /** Memberships, ended ones too. */
  clubs: z.array(z.strictObject({ slug: z.string(), name: z.string(), joinedOn: day, leftOn: day.nullable() })),
  clubApplications: z.array(
    z.strictObject({
      club: z.string(),
      state: z.string(),
      message: z.string().nullable(),
      appliedAt: moment,
      answeredAt: moment.nullable(),
      /** What the registrar answered. */
      reason: z.string().nullable(),
    }),
  ),
  /** Invitations of this keeper to join a club, and those the account sent as a registrar. */
  clubInvitations: z.array(
    z.strictObject({
      club: z.string(),
      email: z.string().nullable(),
      own: z.boolean(),
      createdAt: moment,
      expiresAt: moment,
      acceptedAt: moment.nullable(),
      withdrawnAt: moment.nullable(),
    }),
  ),
  /** Parts of the collection that have a name. */
  collections: z.array(
    z.strictObject({
      name: z.string(),
      openedAt: moment,
      /** Which animals were in it since when. */
      stays: z.array(z.strictObject({ animal: animalNumber, setAt: moment, endedAt: moment.nullable() })),
    }),
  ),
  /** What was shown to whom since when, for the keeper, a named part or a single animal; null holdings are as the level above says. */
  sharing: z.array(
    z.strictObject({
      of: z.enum(['keeper', 'collection', 'animal']),
      collection: z.string().nullable(),
      animal: animalNumber,
      holdings: z.string().nullable(),
      lineageWithheld: z.boolean(),
      setAt: moment,
      endedAt: moment.nullable(),
    }),
  ),
  /** Whom this keeper let read an animal, until which day. */
  readingGrants: z.array(
    z.strictObject({
      reader: z.string(),
      animal: animalNumber,
      grantedAt: moment,
      until: day,
      endedAt: moment.nullable(),
    }),
  ),
  /** What others let this keeper read. */
  guestReading: z.array(
    z.strictObject({ animal: animalNumber, grantedAt: moment, until: day, endedAt: moment.nullable() }),
  ),
  /** Of the account that exports. */
  offices: z.array(
    z.strictObject({
      club: z.string(),
      region: z.string().nullable(),
      scientificName: z.string().nullable(),
      from: day,
      to: day.nullable(),
    }),
  ),
  /** Of the account that exports. A mail with a code is here without its text. */
  mails: z.array(z.strictObject({ subject: z.string(), text: z.string().nullable(), createdAt: moment })),
  /** Whether the account that exports has read each, and whether it waits for that account's next daily mail. */
  notices: z.array(
    z.strictObject({
      kind: z.string(),
      body: z.unknown(),
      dueOn: day.nullable(),
      createdAt: moment,
      readAt: moment.nullable(),
      inNextDailyMail: z.boolean(),
    }),
  ),
};
