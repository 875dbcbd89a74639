import { registerEnumType } from '@nestjs/graphql';

export enum AnimalKindType {
  individual = 'individual',
  lot = 'lot',
}
registerEnumType(AnimalKindType, {
  name: 'AnimalKind',
  description: 'One animal, or a lot of unmarked animals counted together.',
});

export enum SexType {
  male = 'male',
  female = 'female',
  unknown = 'unknown',
}
registerEnumType(SexType, { name: 'Sex' });

export enum BirthMannerType {
  hatched = 'hatched',
  born = 'born',
  metamorphosed = 'metamorphosed',
  unknown = 'unknown',
}
registerEnumType(BirthMannerType, { name: 'BirthManner' });

export enum OriginClassType {
  bred = 'bred',
  wild = 'wild',
  ranched = 'ranched',
  unknown = 'unknown',
}
registerEnumType(OriginClassType, {
  name: 'OriginClass',
  description: 'Where the animal comes from, as claimed by its keeper.',
});

export enum AcquisitionMannerType {
  wild_taken = 'wild_taken',
  bought = 'bought',
  gift = 'gift',
  bred_here = 'bred_here',
  confiscated = 'confiscated',
  unknown = 'unknown',
}
registerEnumType(AcquisitionMannerType, {
  name: 'AcquisitionManner',
  description: 'How a keeper came by an animal.',
  valuesMap: {
    wild_taken: { description: 'Taken from the wild.' },
    bred_here: { description: "Bred in the keeper's own collection." },
    confiscated: { description: 'Confiscated or seized by an authority.' },
  },
});

export enum FateType {
  alive = 'alive',
  dead = 'dead',
  missing = 'missing',
  stolen = 'stolen',
  escaped = 'escaped',
  seized = 'seized',
  surrendered = 'surrendered',
  left_registry = 'left_registry',
}
registerEnumType(FateType, { name: 'Fate' });

export enum MarkKindType {
  transponder = 'transponder',
  other_chip = 'other_chip',
  ring = 'ring',
  tag = 'tag',
  notch = 'notch',
  photo = 'photo',
  photo_documentation = 'photo_documentation',
  feature = 'feature',
  own_number = 'own_number',
}
registerEnumType(MarkKindType, {
  name: 'MarkKind',
  valuesMap: {
    transponder: { description: 'ISO 11784, 15 digits.' },
    other_chip: { description: 'A chip that does not follow ISO 11784.' },
    ring: { description: 'A seamless closed ring, with number and size.' },
    photo: { description: 'A picture somebody keeps.' },
    photo_documentation: {
      description: 'Dated pictures of a fixed view, repeated at an interval and compared by two people: a full mark.',
    },
    feature: { description: 'A visible feature while it lasts, such as a healed tail or a pattern.' },
    own_number: { description: "The number the animal has in a keeper's own book." },
  },
});

export enum NoteTopicType {
  care = 'care',
  health = 'health',
  private = 'private',
}
registerEnumType(NoteTopicType, {
  name: 'NoteTopic',
  valuesMap: { private: { description: 'Read by the keeper who wrote it only; does not go along with the animal.' } },
});

export enum CertaintyType {
  certain = 'certain',
  likely = 'likely',
  guess = 'guess',
}
registerEnumType(CertaintyType, { name: 'Certainty' });

export enum ViewerLevelType {
  full = 'full',
  past = 'past',
  offered = 'offered',
  guest = 'guest',
  club = 'club',
}
registerEnumType(ViewerLevelType, {
  name: 'ViewerLevel',
  description: 'How much of the record the viewer reads. Fields that are not shown are null.',
  valuesMap: {
    full: { description: 'The viewer has the animal or owns a share of it.' },
    past: { description: 'The viewer had it: what was recorded until it left.' },
    offered: { description: 'It is offered to the viewer: the record as it will arrive.' },
    guest: {
      description: 'Its keeper lets the viewer read it until a day: the record and its quarantine as they are.',
    },
    club: { description: 'A club-mate has it: lineage only.' },
  },
});

export enum TraitStateType {
  visible = 'visible',
  carrier = 'carrier',
  possible = 'possible',
  absent = 'absent',
}
registerEnumType(TraitStateType, {
  name: 'TraitState',
  description: 'What an animal shows or carries of a gene.',
  valuesMap: {
    visible: { description: 'Seen on the animal.' },
    carrier: { description: 'Carried unseen, for certain.' },
    possible: { description: 'Perhaps carried.' },
    absent: { description: 'Not there.' },
  },
});

export enum TraitBasisType {
  declared = 'declared',
  tested = 'tested',
  by_parents = 'by_parents',
}
registerEnumType(TraitBasisType, {
  name: 'TraitBasis',
  description: 'How a trait is known.',
  valuesMap: {
    tested: { description: 'By a genetic test.' },
    by_parents: { description: 'It follows from the parents by Mendel’s rules.' },
  },
});

export enum RecheckKindType {
  offspring = 'offspring',
  mating = 'mating',
  clutch = 'clutch',
}
registerEnumType(RecheckKindType, { name: 'RecheckKind' });
