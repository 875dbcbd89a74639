import { Module } from '@nestjs/common';
import { TaxonResolver } from './taxon.resolver.js';
import { TaxonStore } from './taxon.store.js';

@Module({ providers: [TaxonStore, TaxonResolver], exports: [TaxonStore] })
export class TaxonModule {}
