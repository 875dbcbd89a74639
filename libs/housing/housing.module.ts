import { Module } from '@nestjs/common';
import { HousingResolver } from './housing.resolver.js';
import { HousingReadStore } from './housing.store.js';
import { PlaceAnimals } from './place-animals.js';
import { RecordEnclosure } from './record-enclosure.js';

@Module({
  providers: [HousingReadStore, HousingResolver, PlaceAnimals, RecordEnclosure],
  exports: [PlaceAnimals, RecordEnclosure],
})
export class HousingModule {}
