import { type Answer, type TestApp } from './test-app.js';

/** Counts of one taxon, or of all, as the API gives them. */
export type CountAnswer = {
  opening: number;
  births: number;
  arrivals: number;
  deaths: number;
  departures: number;
  closing: number;
  unaccounted: number;
  sexes: string;
  juveniles: number;
  adults: number;
  ageNotKnown: number;
  bred: number;
  wild: number;
  ranched: number;
  originNotKnown: number;
  keepers: number;
};

export type RegionAnswer = {
  total: CountAnswer;
  taxa: {
    edges: {
      node: {
        taxon: { id: string };
        count: CountAnswer;
        genetics: {
          size: number | null;
          meanKinship: number | null;
          geneDiversity: number | null;
          knownAncestry: number | null;
          asOf: string | null;
          whyNot: string | null;
        };
      };
    }[];
  };
};

export type RegionArgs = { clubId: string; region: string; since: string; asOf: string; taxonId?: string | null };

const COUNT = `opening births arrivals deaths departures closing unaccounted sexes juveniles adults ageNotKnown
  bred wild ranched originNotKnown keepers`;

/** Asks for the stock of a region; gives the answer as it came. */
export function askRegion(
  test: TestApp,
  args: RegionArgs,
  token?: string,
): Promise<Answer<{ regionalStock: RegionAnswer }>> {
  return test.ask(
    `query ($clubId: ID!, $region: String!, $since: Day!, $asOf: Day!, $taxonId: ID) {
      regionalStock(clubId: $clubId, region: $region, since: $since, asOf: $asOf, taxonId: $taxonId) {
        total { ${COUNT} }
        taxa { edges { node { taxon { id } count { ${COUNT} }
          genetics { size meanKinship geneDiversity knownAncestry asOf whyNot } } } } } }`,
    args,
    token,
  );
}

/** The same, failing the test when it was refused. */
export async function readRegion(test: TestApp, args: RegionArgs, token: string): Promise<RegionAnswer> {
  const { data, errors } = await askRegion(test, args, token);
  if (errors !== undefined || data === null) throw new Error(`regionalStock answered ${JSON.stringify(errors)}`);
  return data.regionalStock;
}
