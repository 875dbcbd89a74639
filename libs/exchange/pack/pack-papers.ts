import { Injectable } from '@nestjs/common';
import { AnimalFileStore } from '../../animal/index.js';
import { DocumentReadStore } from '../../document/index.js';

/** What goes along with animals as files: their holding documents and pictures, as far as the viewer reads them. */
@Injectable()
export class PackPapers {
  constructor(
    readonly documents: DocumentReadStore,
    readonly files: AnimalFileStore,
  ) {}
}
