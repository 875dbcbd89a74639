import { type TaxonProfile } from '../../libs/taxon/index.js';

/** Where a number comes from; printed beside it wherever it is shown. */
const AMNIOTE = 'Amniote life-history database, Myhrvold et al. 2015';
const AMPHIBIO = 'AmphiBIO v1';
const ANAGE = 'AnAge';
const PRACTICE = 'common practice, no published source';
const MEMORY = 'from memory, verify before relying on it';
const AZA = 'Association of Zoos and Aquariums, quarantine guidance: at least 30 days';
const REPTILE_PRACTICE = 'common practice for reptiles in private hands, no published source: 60 to 90 days';

const bound = (value: number, source: string) => ({ value, source });

/** A species of the demo, with what its databases say. Databases disagree: these numbers warn, they never refuse. */
export type SeedTaxon = {
  readonly scientificName: string;
  readonly commonName: string;
  readonly className: string;
  readonly orderName: string;
  readonly quarantineDays: number;
  readonly quarantineSource: string;
  readonly profile: TaxonProfile;
};

export const TAXA: readonly SeedTaxon[] = [
  {
    scientificName: 'Correlophus ciliatus',
    commonName: 'Crested gecko',
    className: 'Reptilia',
    orderName: 'Squamata',
    quarantineDays: 60,
    quarantineSource: REPTILE_PRACTICE,
    profile: {
      maturityDays: bound(365, PRACTICE),
      matingToLayingMinDays: bound(20, PRACTICE),
      spermStorageMaxDays: bound(540, PRACTICE),
      clutchSizeMax: bound(2, AMNIOTE),
      incubationDays: { min: 60, max: 150, source: PRACTICE },
      appendix: { value: 'none', source: MEMORY },
    },
  },
  {
    scientificName: 'Eublepharis macularius',
    commonName: 'Leopard gecko',
    className: 'Reptilia',
    orderName: 'Squamata',
    quarantineDays: 60,
    quarantineSource: REPTILE_PRACTICE,
    profile: {
      maturityDays: bound(400, `${AMNIOTE}; ${ANAGE}`),
      matingToLayingMinDays: bound(14, PRACTICE),
      // Means, of 53 and 55 days: a typical number, not the shortest or the longest.
      incubationDays: bound(54, `${AMNIOTE}; ${ANAGE} (means)`),
      appendix: { value: 'none', source: MEMORY },
    },
  },
  {
    scientificName: 'Testudo hermanni',
    commonName: "Hermann's tortoise",
    className: 'Reptilia',
    orderName: 'Testudines',
    quarantineDays: 90,
    quarantineSource: REPTILE_PRACTICE,
    profile: {
      maturityDays: bound(4560, `${AMNIOTE}; ${ANAGE} (wild animals; sooner in captivity)`),
      matingToLayingMinDays: bound(20, PRACTICE),
      spermStorageMaxDays: bound(1460, MEMORY),
      incubationDays: { min: 52, max: 100, source: 'three-year farm study 52 to 70; field means up to 100' },
      appendix: { value: 'II', source: MEMORY },
    },
  },
  {
    scientificName: 'Python regius',
    commonName: 'Royal python',
    className: 'Reptilia',
    orderName: 'Squamata',
    quarantineDays: 90,
    quarantineSource: REPTILE_PRACTICE,
    profile: {
      maturityDays: bound(1825, `${AMNIOTE}; ${ANAGE} (12 to 36 months in captivity: sources conflict)`),
      appendix: { value: 'II', source: MEMORY },
    },
  },
  {
    scientificName: 'Dendrobates tinctorius',
    commonName: 'Dyeing poison frog',
    className: 'Amphibia',
    orderName: 'Anura',
    quarantineDays: 30,
    quarantineSource: AZA,
    profile: { clutchSizeMax: bound(16, AMPHIBIO), appendix: { value: 'II', source: MEMORY } },
  },
  {
    scientificName: 'Ambystoma mexicanum',
    commonName: 'Axolotl',
    className: 'Amphibia',
    orderName: 'Caudata',
    quarantineDays: 30,
    quarantineSource: AZA,
    profile: {
      maturityDays: bound(548, `${ANAGE}; ${AMPHIBIO}`),
      incubationDays: { min: 12, max: 18, source: ANAGE },
      appendix: { value: 'II', source: MEMORY },
    },
  },
];
