import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { CorrectStay } from './app/correct-stay.js';
import { PlaceAnimals } from './app/place-animals.js';
import { RecordEnclosure } from './app/record-enclosure.js';
import { UpdateEnclosure } from './app/update-enclosure.js';
import { HousingResolver } from './graphql/housing.resolver.js';
import {
  AnimalStaysResolver,
  CompanionshipResolver,
  EnclosureStaysResolver,
  StayResolver,
} from './graphql/stay.resolver.js';
import { HousingReadStore } from './store/housing-read.store.js';

@Module({
  imports: [AnimalModule],
  providers: [
    AnimalStaysResolver,
    CompanionshipResolver,
    CorrectStay,
    EnclosureStaysResolver,
    HousingReadStore,
    HousingResolver,
    PlaceAnimals,
    RecordEnclosure,
    StayResolver,
    UpdateEnclosure,
  ],
  exports: [CorrectStay, HousingReadStore, PlaceAnimals, RecordEnclosure, UpdateEnclosure],
})
export class HousingModule {}
