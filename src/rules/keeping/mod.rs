//! Rules about the record itself: its order, concessions, release, service.
