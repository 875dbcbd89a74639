import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { MetadataScanner } from '@nestjs/core';
import { Mutation, Query, Resolver, GraphQLSchemaHost } from '@nestjs/graphql';
import { isListType, isNonNullType, isObjectType, type GraphQLObjectType } from 'graphql';
import { serverAudits } from 'graphql-http';
import { printCurrentSchema } from '../../apps/api/src/print-schema.js';
import { Public } from '../../libs/platform/graphql/index.js';
import { undeclaredOperations } from '../../libs/platform/graphql/declaration-check.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
beforeAll(async () => {
  server = await startTestApp();
});
afterAll(() => server.close());

it('the committed SDL is what the server serves', async () => {
  const committed = readFileSync(join(import.meta.dirname, '..', '..', 'apps', 'api', 'schema.graphql'), 'utf8');
  expect(await printCurrentSchema()).toBe(committed);
});

/** GraphQL over HTTP, draft specification of the GraphQL foundation; audits of the reference library graphql-http 1.23.1. */
it('no audit of GraphQL over HTTP fails', async () => {
  await server.app.listen(0, '127.0.0.1');
  const url = `${await server.app.getUrl()}/graphql`;
  const results = await Promise.all(serverAudits({ url, fetchFn: fetch }).map((audit) => audit.fn()));
  expect(results.length).toBeGreaterThan(50);
  expect(results.filter(({ status }) => status === 'error').map(({ name }) => name)).toEqual([]);
});

describe('every operation declares its action', () => {
  @Resolver()
  class Forgetful {
    @Query(() => String)
    open(): string {
      return '';
    }

    @Mutation(() => String)
    @Public('a test')
    declared(): string {
      return '';
    }
  }

  it('one that does not is named, and would stop the boot', () => {
    expect(undeclaredOperations([new Forgetful()], new MetadataScanner())).toEqual(['Forgetful.open']);
  });
});

describe('conventions', () => {
  const typesOf = () =>
    Object.values(server.app.get(GraphQLSchemaHost).schema.getTypeMap()).filter((type) => !type.name.startsWith('__'));

  it('a mutation takes one `input` and returns a payload that is never null', () => {
    const mutations = Object.values(server.app.get(GraphQLSchemaHost).schema.getMutationType()?.getFields() ?? {});
    expect(mutations.length).toBeGreaterThan(1);
    for (const { name, args, type } of mutations) {
      expect({ name, args: args.map((arg) => arg.name) }).toEqual({ name, args: ['input'] });
      expect(String(type)).toMatch(/Payload!$/);
    }
  });

  it('no argument or input field has a default, which a client could not clear', () => {
    for (const type of typesOf()) {
      if (!isObjectType(type)) continue;
      for (const field of Object.values(type.getFields()))
        for (const arg of field.args)
          expect({ at: `${type.name}.${field.name}`, value: arg.defaultValue }).toEqual({
            at: `${type.name}.${field.name}`,
            value: undefined,
          });
    }
  });

  it('a list is a connection or bounded by nature', () => {
    /** Bounded by what they describe; each with the bound. */
    const bounded = new Set(BOUNDED_LISTS);
    const lists = typesOf()
      .filter((type): type is GraphQLObjectType => isObjectType(type) && !type.name.endsWith('Connection'))
      .flatMap((type) =>
        Object.values(type.getFields())
          .filter((field) => isListType(isNonNullType(field.type) ? field.type.ofType : field.type))
          .map((field) => `${type.name}.${field.name}`),
      );
    expect(lists.filter((name) => !bounded.has(name))).toEqual([]);
  });
});

const BOUNDED_LISTS = [
  'Loan.days', // at most 100 (MAX_LOAN_DAYS of each side)
  'Loan.deaths', // the last 100
  'Query.clubPolicy',
  'ClubListing.taxa', // at most 20 (MAX_CLUB_TAXA)
  'SetClubPolicyPayload.policy',
  'Transfer.countersignatures',
  'ForgetMePayload.keeperIds', // the keepers of one account
  'KeeperPeople.members', // at most 50 with those invited (MAX_MEMBERS)
  'KeeperPeople.invitations', // the same
  'Clutch.breeders', // at most 20 (MAX_BREEDERS)
  'Hatching.breeders', // the same
  'Breeder.why', // one a reason, and there are eight
  'Clutch.dams', // at most 20 candidates (MAX_CANDIDATES)
  'ParentProposal.dams', // the same
  'ParentProposal.sires', // the same
  'ParentProposal.warnings', // one a rule, and there are eight
  'Egg.young', // at most two (MAX_YOUNG_AN_EGG)
  'RecordClutchPayload.warnings', // one a rule, and there are six
  'RecordHatchingPayload.warnings', // twins and incubation
  'RecordHatchlingsPayload.young', // at most 100 (MAX_YOUNG)
  'RecordHatchlingsPayload.warnings', // a few a parent and a mark, of at most 20 and 2,000
  'EggEventsPayload.warnings', // the temperature
  'MoveFamilyPayload.warnings', // the quarantine
  'PlaceAnimalsPayload.warnings', // the quarantine
  'OriginFinding.items', // a rule says at most four things, and there are twelve rules
  'OriginFinding.missing', // at most three for each of these
  'OriginItem.factIds', // facts of one animal and its dam that bear on one rule
  'SourceSuggestion.codes', // seven codes exist
  'SourceSuggestion.alongside', // I and O
  'Query.mailChoices', // one a group of notices, and there are nine
  'ChooseMailsPayload.mailChoices', // the same
  'Query.mySessions', // where one person is signed in; each lapses after 30 days
  'Me.keepers', // an account acts for a handful
  'Me.offices', // at most 100 (MAX_HELD)
  'OwnKeeper.clubs', // clubs one joins
  'PhotoSession.fileIds', // at most 10
  'Animal.files', // 60 a keeper (MAX_FILES)
  'Animal.marks', // at most 60 in force (MAX_MARKS)
  'Animal.hybridOf', // at most 8 taxa
  'Trait.alleles', // two
  'RecordFactPayload.warnings', // one a kind of record, or two of a measurement
  'RecordFactsPayload.facts', // at most 100 (MAX_FACTS)
  'RecordedFact.warnings', // the same as of one fact
  'RecordedFact.recheck', // at most 100 (MOST)
  'CorrectFactPayload.warnings', // the same
  'CorrectFactPayload.recheck', // the same
  'Growth.points', // at most 1000 (MAX_POINTS)
  'GrowthPoint.warnings', // the series and the taxon
  'RecordAsOf.marks', // at most 60 (MAX_MARKS)
  'RecordFactPayload.recheck', // at most 100 (MOST)
  'Animal.markConflicts', // records with the number of one of its chips
  'RecordMarkPayload.warnings', // one a mark, and one a conflict
  'EndMarkPayload.warnings',
  'CorrectMarkPayload.warnings',
  'RecordPhotoSessionPayload.warnings',
  'TakeBackPhotoSessionPayload.warnings',
  'ConfirmPhotoComparisonPayload.warnings',
  'JoinLotsPayload.warnings', // birth, origin, sire, dam
  'SharedAnimalsPayload.animals', // at most 500 are named
  'RaiseFromLotPayload.animals', // at most 50 (MAX_RAISED)
  'RaiseFromLotPayload.warnings', // one a mark, and one a conflict
  'PhotoSession.comparisons', // one a person who reads the animal and an earlier session
  'Animal.parentage', // one claim in force for each of the two roles
  'Animal.mergedRecords', // records one animal was given by mistake
  'ParentageClaim.candidates', // at most 20, checked when recorded
  'RecordParentPayload.warnings', // at most three a candidate, at most 20 candidates
  'RegisterAnimalPayload.parentWarnings', // as above, for two roles
  'RegisterLotPayload.parentWarnings', // as above, for two roles
  'MergeRecordsPayload.warnings', // three kinds
  'Relationship.sharedAncestors', // at most 20 (MAX_SHARED_ANCESTORS)
  'KinshipTable.rows', // at most 60 (MAX_TABLE)
  'KinshipTableRow.kinships', // one a row
  'Animal.ancestors', // six generations: 126 ancestors
  'HoldingDocument.covers', // at most 200 (MAX_COVERS)
  'HoldingDocument.files', // at most 20 (MAX_FILES)
  'HoldingDocument.warnings', // one a rule, and there is one rule
  'QuarantineGroup.entries', // at most 200 stays in a group (MAX_GROUP)
  'RegisterAnimalPayload.warnings', // at most one a mark, at most 20 marks
  'Transfer.items', // at most 100, checked when offered
  'Transfer.eggs', // by clutch, at most 200 eggs, checked when offered
  'TransferEggs.eggs', // of those
  'Query.transferChecks', // at most four a condition or animal, at most 100 animals
  'Transfer.conditions', // at most ten, checked when offered
  'OwnershipClaim.parties', // the claimant and the owners of the day, each once
  'PaymentPlan.instalments', // at most 24 (MAX_INSTALMENTS)
  'PaymentPlan.payments', // at most 100 (MAX_PAYMENTS)
  'TransferItem.arrivals', // each of six states once
  'TransferItem.photoFileIds', // at most ten an item
  'BreedingAvailability.offers', // each of four once
  'MateOption.parts', // the six parts of a ranking
  'MateOptions.nearest', // one a reason, and there are nine
  'PairForecast.diversity', // 1 to 20 offspring (MAX_OFFSPRING)
  'PairForecast.unknown', // at most 20 gaps (MAX_UNKNOWNS), and a few of the two themselves
  'PairForecast.warnings', // one a rule, and there are five
  'Taxon.lines', // localities and bloodlines that keepers tell apart
];
