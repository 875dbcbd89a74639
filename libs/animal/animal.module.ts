import { Module } from '@nestjs/common';
import { TaxonModule } from '../taxon/index.js';
import { RecordFact } from './app/record-fact.js';
import { AnimalResolver } from './graphql/animal.resolver.js';
import { RecordFactResolver } from './graphql/record-fact.resolver.js';
import { AnimalReadStore } from './store/animal-read.store.js';

@Module({
  imports: [TaxonModule],
  providers: [AnimalReadStore, AnimalResolver, RecordFact, RecordFactResolver],
  exports: [AnimalReadStore, RecordFact],
})
export class AnimalModule {}
