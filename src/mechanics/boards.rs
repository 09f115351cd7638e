//! Which laminations' moduli vary together?
//!
//! Strips sawn from one board or batch are stiff or soft together, those of two boards each for itself. With `a_i` what one
//! standard deviation of lamination `i`'s modulus does to a result,
//!
//! ```text
//!   of one board b        A_b = Σ a_i                  boards and woods apart    s² = Σ A_b²
//! ```
//!
//! Where laminations of one wood name no board, nobody knows: their correlation lies anywhere between none and full, the variance
//! is linear in it, and the greater end is taken. For a draw weight that is full correlation (all `a_i` are positive); for a reflex it may
//! be none, since what stiffens the whole stack leaves the reflex as it is. One that names no board may also be of any board of its
//! wood that others name. The two pieces of a strip of two woods count each for itself. A lamination whose modulus is tested varies with no other: what is left is the error of its test.
//!
//! Source: variance of a sum of correlated values, any text on measurement (JCGM 100:2008, 5.2).

use crate::model::Build;
use crate::model::piece::PieceOfWood;

/// One standard deviation of a result; `by_scatter` is what one standard deviation of each piece's modulus does to it, in the order of
/// [`Build::piece_names`].
#[must_use]
pub fn deviation(build: &Build, by_scatter: &[f64]) -> f64 {
    let pieces: Vec<(PieceOfWood<'_>, f64)> =
        build.piece_names().into_iter().map(|piece| build.piece(piece)).zip(by_scatter.iter().copied()).collect();
    let mut variance: f64 = pieces.iter().filter(|(piece, _)| piece.tested).map(|(_, by)| by * by).sum();
    let mut woods: Vec<&str> = pieces.iter().map(|(piece, _)| piece.wood.name.as_str()).collect();
    woods.sort_unstable();
    woods.dedup();
    for wood in woods {
        let of_wood = || pieces.iter().filter(|(piece, _)| !piece.tested && piece.wood.name == wood);
        let mut boards: Vec<&str> = of_wood().filter_map(|(piece, _)| piece.board).collect();
        boards.sort_unstable();
        boards.dedup();
        let sums: Vec<f64> = boards
            .iter()
            .map(|board| of_wood().filter(|(piece, _)| piece.board == Some(*board)).map(|(_, by)| by).sum())
            .collect();
        variance += sums.iter().map(|sum| sum * sum).sum::<f64>();
        let free: Vec<f64> = of_wood().filter(|(piece, _)| piece.board.is_none()).map(|(_, by)| *by).collect();
        let apart: f64 = free.iter().map(|by| by * by).sum();
        let together: f64 = free.iter().sum();
        // With each board in turn, and with none of them.
        let joined = sums.iter().chain([&0.0]).map(|sum| (sum + together).powi(2) - sum * sum);
        variance += joined.fold(apart, f64::max);
    }
    variance.sqrt()
}
