//! The pieces of wood that a stack is of, as far as their moduli vary: each lamination, and what lies beyond a splice of two woods.

use super::build::Build;
use super::wood::Wood;

/// Which piece: a whole lamination or its inner piece, or its outer one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PieceName {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    pub outer: bool,
}

impl PieceName {
    /// A whole lamination, or its inner piece.
    pub fn of(lamination: usize) -> PieceName {
        PieceName { lamination, outer: false }
    }
}

/// What is known of a piece's wood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceOfWood<'a> {
    pub wood: &'a Wood,
    /// The board or batch that it comes from.
    pub board: Option<&'a str>,
    /// Its modulus is that of a bending test.
    pub tested: bool,
}

impl Build {
    /// All pieces: the laminations in their order, then what lies beyond splices.
    pub fn piece_names(&self) -> Vec<PieceName> {
        let outer = self.laminations.iter().enumerate().filter(|(_, lamination)| lamination.outer().is_some());
        let outer = outer.map(|(lamination, _)| PieceName { lamination, outer: true });
        (0..self.laminations.len()).map(PieceName::of).chain(outer).collect()
    }

    pub fn piece(&self, name: PieceName) -> PieceOfWood<'_> {
        let lamination = &self.laminations[name.lamination];
        let whole = PieceOfWood { wood: &lamination.wood, board: lamination.board.as_deref(), tested: lamination.modulus_tested };
        // A bending test is of the wood that a lamination names for itself.
        let beyond = lamination.outer().filter(|_| name.outer);
        beyond.map_or(whole, |outer| PieceOfWood { wood: &outer.wood, board: outer.board.as_deref(), tested: false })
    }

    /// Multiplies the modulus of one piece.
    pub fn stiffen(&mut self, name: PieceName, by: f64) {
        let lamination = &mut self.laminations[name.lamination];
        let outer = lamination.splice.as_mut().and_then(|splice| splice.outer.as_mut()).filter(|_| name.outer);
        outer.map_or(&mut lamination.wood, |outer| &mut outer.wood).modulus_mpa *= by;
    }

    /// No piece's modulus is that of a bending test.
    pub fn is_untested(&self) -> bool {
        self.laminations.iter().all(|lamination| !lamination.modulus_tested)
    }
}
