import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { CorrectBreedingFact } from './app/correct-breeding-fact.js';
import { RecordClutch } from './app/record-clutch.js';
import { RecordHatching } from './app/record-hatching.js';
import { RecordMating } from './app/record-mating.js';
import { AnimalBreedingResolver, MatingResolver } from './graphql/animal-breeding.resolver.js';
import { BreedingResolver } from './graphql/breeding.resolver.js';
import { BreedingReadStore } from './store/breeding-read.store.js';

@Module({
  imports: [AnimalModule],
  providers: [
    AnimalBreedingResolver,
    BreedingReadStore,
    BreedingResolver,
    CorrectBreedingFact,
    MatingResolver,
    RecordClutch,
    RecordHatching,
    RecordMating,
  ],
  exports: [CorrectBreedingFact, RecordClutch, RecordHatching, RecordMating],
})
export class BreedingModule {}
