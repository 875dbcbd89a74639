import { type DynamicModule, Module, type Type } from '@nestjs/common';
import { Announcements } from './announcements.js';
import { LiveChanges } from './live-changes.js';
import { LiveSockets } from './live-sockets.js';
import { VIEWER_SOURCE, type ViewerSource } from './viewer-source.js';

/** Live queries for every context. `viewers` of the module `from` says who a socket belongs to. */
@Module({})
export class LiveModule {
  static with(from: Type, viewers: Type<ViewerSource>): DynamicModule {
    return {
      module: LiveModule,
      global: true,
      imports: [from],
      providers: [Announcements, LiveChanges, LiveSockets, { provide: VIEWER_SOURCE, useExisting: viewers }],
      exports: [LiveChanges],
    };
  }
}
