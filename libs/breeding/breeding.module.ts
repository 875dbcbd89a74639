import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { HousingModule } from '../housing/index.js';
import { TaxonModule } from '../taxon/index.js';
import { CorrectBreedingFact } from './app/correct-breeding-fact.js';
import { CorrectEggEvent } from './app/correct-egg-event.js';
import { MoveFamily } from './app/move-family.js';
import { PlanPairing } from './app/plan-pairing.js';
import { ReadBreeders } from './app/read-breeders.js';
import { ReadEggRecords } from './app/read-egg-records.js';
import { ReadPaperEggs } from './app/read-paper-eggs.js';
import { ReadProposal } from './app/read-proposal.js';
import { RecordClutch } from './app/record-clutch.js';
import { RecordEggEvents } from './app/record-egg-events.js';
import { RecordHatching } from './app/record-hatching.js';
import { RecordHatchlings } from './app/record-hatchlings.js';
import { RecordMating } from './app/record-mating.js';
import { AnimalBreedingResolver, MatingResolver } from './graphql/animal-breeding.resolver.js';
import { ClutchBreedersResolver, HatchingBreedersResolver } from './graphql/breeder.resolver.js';
import { BreedingResolver } from './graphql/breeding.resolver.js';
import { ClutchResolver, HatchingResolver, PossibleParentResolver } from './graphql/clutch.resolver.js';
import { EggEventResolver, EggResolver } from './graphql/egg.resolver.js';
import { FamilyResolver, HatchlingResolver, PairingResolver } from './graphql/hatchling.resolver.js';
import { BreedersStore } from './store/breeders.store.js';
import { BreedingReadStore } from './store/breeding-read.store.js';
import { PairingReadStore } from './store/pairing.store.js';

const USE_CASES = [
  CorrectBreedingFact,
  CorrectEggEvent,
  MoveFamily,
  PlanPairing,
  RecordClutch,
  RecordEggEvents,
  RecordHatching,
  RecordHatchlings,
  RecordMating,
];

@Module({
  imports: [AnimalModule, HousingModule, TaxonModule],
  providers: [
    ...USE_CASES,
    AnimalBreedingResolver,
    BreedersStore,
    BreedingReadStore,
    BreedingResolver,
    ClutchBreedersResolver,
    ClutchResolver,
    EggEventResolver,
    EggResolver,
    FamilyResolver,
    HatchingBreedersResolver,
    HatchingResolver,
    HatchlingResolver,
    MatingResolver,
    PairingReadStore,
    PairingResolver,
    PossibleParentResolver,
    ReadBreeders,
    ReadEggRecords,
    ReadPaperEggs,
    ReadProposal,
  ],
  exports: [...USE_CASES, BreedingReadStore, ReadBreeders, ReadEggRecords, ReadPaperEggs],
})
export class BreedingModule {}
