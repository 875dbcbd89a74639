import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { TaxonModule } from '../taxon/index.js';
import { LineageReadStore } from './lineage-read.store.js';
import { LineageResolver } from './lineage.resolver.js';
import { LivePedigree } from './live-pedigree.js';
import { RecordParent } from './record-parent.js';

@Module({
  imports: [AnimalModule, TaxonModule],
  providers: [LineageReadStore, LineageResolver, LivePedigree, RecordParent],
  exports: [LivePedigree],
})
export class LineageModule {}
